package notebook

import (
	"slices"

	"pryday/scheduler"
)

// named finds the one of a name: as it is written, or else the only one whose name
// differs in case, spaces and signs alone.
func named[T any](all []T, name string, of func(*T) string) (found *T) {
	for i := range all {
		if of(&all[i]) == name {
			return &all[i]
		}
	}
	folded := key(name)
	if folded == "" {
		return nil
	}
	for i := range all {
		if key(of(&all[i])) != folded {
			continue
		}
		if found != nil {
			return nil
		}
		found = &all[i]
	}
	return found
}

// only returns the one that fits; nil when none does, or several.
func only[T any](all []T, fits func(*T) bool) (found *T) {
	for i := range all {
		if !fits(&all[i]) {
			continue
		}
		if found != nil {
			return nil
		}
		found = &all[i]
	}
	return found
}

// spareBox finds the box of a mark that stands on no hive.
func spareBox(c *scheduler.Club, mark string) *scheduler.Box {
	return only(c.Spare, func(b *scheduler.Box) bool { return b.Name == mark })
}

// onlyApiaryWith finds the apiary that alone has a hive of a name.
func onlyApiaryWith(c *scheduler.Club, hive string) *scheduler.Apiary {
	if hive == "" {
		return nil
	}
	return only(c.Apiaries, func(a *scheduler.Apiary) bool {
		return slices.ContainsFunc(a.Hives, func(h scheduler.Hive) bool { return key(h.Name) == key(hive) })
	})
}

func onlyHiveWith(a *scheduler.Apiary, mark string) *scheduler.Hive {
	if mark == "" {
		return nil
	}
	return only(a.Hives, func(h *scheduler.Hive) bool {
		return slices.ContainsFunc(h.Boxes, func(b scheduler.Box) bool { return b.Name == mark })
	})
}

// onceOn finds the one box of a mark that stood on a hive earlier.
func onceOn(c *scheduler.Club, mark string, hive int64) (found *scheduler.Box) {
	several := false
	look := func(boxes []scheduler.Box) {
		for i := range boxes {
			was := func(p scheduler.BoxPlace) bool { return p.Where == scheduler.OnHive && p.HiveID == hive }
			if boxes[i].Name == mark && slices.ContainsFunc(boxes[i].Places, was) {
				several, found = found != nil, &boxes[i]
			}
		}
	}
	look(c.Spare)
	for a := range c.Apiaries {
		for h := range c.Apiaries[a].Hives {
			look(c.Apiaries[a].Hives[h].Boxes)
		}
	}
	if several {
		return nil
	}
	return found
}
