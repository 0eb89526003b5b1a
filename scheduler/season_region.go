package scheduler

// Region is a part of the world with stage dates of its own.
type Region string

// The regions. Each has its table of bands in season_tables.go.
const (
	Continental      Region = "continental"       // North America, the rest of Europe, Asia, and wherever no other is
	WesternEurope    Region = "western-europe"    // the side of Europe that lies on the Atlantic
	SouthernEurope   Region = "southern-europe"   // around the Mediterranean, and along the Danube
	SouthernMaritime Region = "southern-maritime" // the mild lands of the south: southern Australia, New Zealand, central Chile, the Cape
)

// Regions lists the regions in the order in which forms offer them.
var Regions = []Region{Continental, WesternEurope, SouthernEurope, SouthernMaritime}

// area is a part of a region: from its south and west borders up to, not
// including, its north and east ones, in degrees.
type area struct {
	region                   Region
	south, north, west, east float64
}

// areas are the borders of the regions. They are straight lines where the land
// has none, so a place near one may well belong on the other side: keepers can
// choose. Of areas that overlap, the first counts. Common practice, no source.
var areas = [...]area{
	{SouthernEurope, 34, 42, -10, 36},      // Iberia up to the Douro, Italy, Greece, western Anatolia, the islands
	{SouthernEurope, 42, 45.5, 2.5, 30},    // Languedoc, Provence, the Po, the Balkans
	{SouthernEurope, 45.5, 48.4, 8, 30},    // the Alps' southern and eastern valleys, the Danube from Bavaria down
	{WesternEurope, 42, 59, -11, 8},        // the British Isles, France, the Low Countries, the Rhine, northern Spain
	{SouthernMaritime, -45, -31, 112, 154}, // Australia south of Perth and Newcastle
	{SouthernMaritime, -48, -34, 166, 179}, // New Zealand
	{SouthernMaritime, -45, -30, -76, -70}, // Chile from Coquimbo to Chiloe
	{SouthernMaritime, -35, -31, 17, 27},   // the Cape
}

// RegionAt returns the region of a place, from its degrees north and east.
func RegionAt(latitude, longitude float64) Region {
	for i := range areas {
		if areas[i].contains(latitude, longitude) {
			return areas[i].region
		}
	}
	return Continental
}

func (a *area) contains(latitude, longitude float64) bool {
	return latitude >= a.south && latitude < a.north && longitude >= a.west && longitude < a.east
}

// SeasonRegion returns the region whose dates hold at a: the one chosen for it,
// or the one that its coordinates lie in.
func (a *Apiary) SeasonRegion() Region {
	if a.Region != "" {
		return a.Region
	}
	return RegionAt(a.Latitude, a.Longitude)
}
