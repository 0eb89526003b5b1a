package web

import "pryday/scheduler"

// seasonEvents are what keepers see when a stage begins.
var seasonEvents = []choiceName{
	{string(scheduler.FirstPollen), "first good pollen came in"},
	{string(scheduler.SupersOn), "supers went on"},
	{string(scheduler.SupersOff), "supers came off"},
}

// shiftWords says by how much a season is moved.
func shiftWords(days int) string {
	switch {
	case days > 0:
		return count(days, "day", "days") + " later than the rules say"
	case days < 0:
		return count(-days, "day", "days") + " earlier than the rules say"
	}
	return "as the rules say"
}
