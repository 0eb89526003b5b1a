package scheduler

import "testing"

// TestOutweighed: whether a hard opening is contradicted depends on the waits alone.
func TestOutweighed(t *testing.T) {
	rules := DefaultRules()
	s := NewSeason(Place{Latitude: 48}, &rules)
	o := func(on string, hard Difficulty) Opening { return Opening{On: date(on), Joint: hard, Frames: NotTried} }
	shut := o("2027-05-20", Stuck)
	shut.LeftShut = true
	for _, tt := range []struct {
		name           string
		openings       []Opening
		harder, easier string
	}{
		{"never opened", nil, "", ""},
		{"hard soon, loose after long", []Opening{o("2027-06-01", Hard), o("2027-09-01", Light)}, "2027-06-01", "2027-09-01"},
		{"hard soon, firm after long", []Opening{o("2027-06-01", Hard), o("2027-09-01", Firm)}, "", ""},
		{"hard after long, loose soon", []Opening{o("2027-09-01", Hard), o("2027-09-20", Loose)}, "", ""},
		{"loose first", []Opening{o("2027-06-01", Loose), o("2027-09-01", Stuck)}, "", ""},
		{"left shut, and loose when opened", []Opening{shut, o("2027-08-01", Loose)}, "2027-05-20", "2027-08-01"},
		{"the last of two", []Opening{o("2027-05-10", Stuck), o("2027-06-01", Hard), o("2027-09-01", Loose)}, "2027-06-01", "2027-09-01"},
		{"not tried since", []Opening{o("2027-06-01", Stuck), o("2027-09-01", NotTried)}, "", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			harder, easier := outweighed(&Box{SetUpOn: date("2027-04-20"), Openings: tt.openings}, s)
			if tt.harder == "" {
				if harder != nil || easier != nil {
					t.Errorf("%v outweighs %v", easier, harder)
				}
				return
			}
			if harder == nil || harder.On != date(tt.harder) || easier.On != date(tt.easier) {
				t.Errorf("%v outweighs %v, want %s and %s", easier, harder, tt.easier, tt.harder)
			}
		})
	}
}
