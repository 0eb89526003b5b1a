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
	return memberIn(c.Members, id)
}

func memberIn(members []Member, id int64) *Member {
	for i := range members {
		if members[i].ID == id {
			return &members[i]
		}
	}
	return nil
}

// Hive returns the hive of an id that stands at an apiary, or nil.
func (a *Apiary) Hive(id int64) *Hive {
	for i := range a.Hives {
		if a.Hives[i].ID == id {
			return &a.Hives[i]
		}
	}
	return nil
}

// Box returns the box of an id that stands at an apiary, with its hive, or
// nils.
func (a *Apiary) Box(id int64) (*Hive, *Box) {
	for i := range a.Hives {
		if b := a.Hives[i].Box(id); b != nil {
			return &a.Hives[i], b
		}
	}
	return nil, nil
}

// Box returns the box of an id that stands on a hive, or nil.
func (h *Hive) Box(id int64) *Box {
	for i := range h.Boxes {
		if h.Boxes[i].ID == id {
			return &h.Boxes[i]
		}
	}
	return nil
}
