package scheduler

// Names finds the names of a club's records by their ids.
type Names struct {
	apiaries map[int64]string
	hives    map[int64]string
	members  map[int64]string
	boxes    map[int64][2]string
}

// NewNames indexes a club. A box on no hive has an empty hive name.
func NewNames(c *Club) *Names {
	n := &Names{
		apiaries: make(map[int64]string, len(c.Apiaries)), hives: make(map[int64]string),
		members: make(map[int64]string, len(c.Members)), boxes: make(map[int64][2]string),
	}
	for i := range c.Members {
		n.members[c.Members[i].ID] = c.Members[i].Name
	}
	for i := range c.Apiaries {
		a := &c.Apiaries[i]
		n.apiaries[a.ID] = a.Name
		for j := range a.Hives {
			h := &a.Hives[j]
			n.hives[h.ID] = h.Name
			for k := range h.Boxes {
				n.boxes[h.Boxes[k].ID] = [2]string{h.Name, h.Boxes[k].Name}
			}
		}
	}
	for i := range c.Spare {
		n.boxes[c.Spare[i].ID] = [2]string{"", c.Spare[i].Name}
	}
	return n
}

// Apiary returns an apiary's name, or the empty string.
func (n *Names) Apiary(id int64) string { return n.apiaries[id] }

// Hive returns a hive's name, or the empty string.
func (n *Names) Hive(id int64) string { return n.hives[id] }

// Member returns a member's name, or the empty string.
func (n *Names) Member(id int64) string { return n.members[id] }

// Box returns the name of a box's hive and its own.
func (n *Names) Box(id int64) (hive, box string) {
	b := n.boxes[id]
	return b[0], b[1]
}
