package simulation

import "pryday/scheduler"

// Scraping is how keepers clean a box before they close it.
type Scraping struct {
	// Shares of openings after which all, or nothing, is scraped; the rest is
	// scraped in part. After a hard or stuck one keepers clean more.
	ScrapedAll, ScrapedNot         float64
	HardScrapedAll, HardScrapedNot float64
	LeftByScraping                 [3]float64 // part of a seal's strength that is left: all, part, nothing scraped
	LeftSpread                     float64    // what is left is between (1-x) and (1+x) times that
}

// scrape draws how a box is cleaned on a day on which it opened so hard, and
// what this leaves of the strength that its seal had.
func (s *Scraping) scrape(d dice, how scheduler.Difficulty, strength float64, box int, on scheduler.Date) (scheduler.Scraped, float64) {
	all, not := s.ScrapedAll, s.ScrapedNot
	if how >= scheduler.Hard {
		all, not = s.HardScrapedAll, s.HardScrapedNot
	}
	scraped, part := scheduler.ScrapedPart, 1
	switch u := d.draw(ofScraping, box, int(on)); {
	case u < all:
		scraped, part = scheduler.ScrapedAll, 0
	case u > 1-not:
		scraped, part = scheduler.ScrapedNone, 2
	}
	return scraped, strength * s.LeftByScraping[part] * d.between(1-s.LeftSpread, 1+s.LeftSpread, ofLeft, box, int(on))
}
