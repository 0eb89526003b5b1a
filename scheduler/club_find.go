package scheduler

// Apiary returns the apiary of an id, or nil.
func (c *Club) Apiary(id int64) *Apiary {
	for i := range c.Apiaries {
		if c.Apiaries[i].ID == id {
			return &c.Apiaries[i]
		}
	}
	return nil
}

// ApiaryNamed returns the apiary of a name, which is unique in a club, or nil.
func (c *Club) ApiaryNamed(name string) *Apiary {
	for i := range c.Apiaries {
		if c.Apiaries[i].Name == name {
			return &c.Apiaries[i]
		}
	}
	return nil
}

// Member returns the member of an id, or nil.
func (c *Club) Member(id int64) *Member {
	for i := range c.Members {
		if c.Members[i].ID == id {
			return &c.Members[i]
		}
	}
	return nil
}
