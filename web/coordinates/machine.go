package coordinates

import (
	"net/url"
	"regexp"
	"strconv"
	"strings"
)

// parseGeo reads what follows "geo:" (RFC 5870): latitude, longitude, perhaps
// a height, and parameters. Phones write "geo:0,0?q=LATITUDE,LONGITUDE(NAME)" as well.
func parseGeo(s string) (Point, error) {
	s, query, _ := strings.Cut(s, "?")
	path, parameters, _ := strings.Cut(s, ";")
	for p := range strings.SplitSeq(parameters, ";") {
		name, value, _ := strings.Cut(p, "=")
		if strings.EqualFold(name, "crs") && !strings.EqualFold(value, "wgs84") {
			return Point{}, ErrSystem
		}
	}
	p, err := decimals(path)
	if err == nil && (p.Latitude != 0 || p.Longitude != 0) || query == "" {
		return p, err
	}
	values, bad := url.ParseQuery(query)
	if bad != nil || values.Get("q") == "" {
		return p, err
	}
	asked, _, _ := strings.Cut(values.Get("q"), "(")
	return decimals(asked)
}

// decimals reads "LATITUDE,LONGITUDE" or "LATITUDE,LONGITUDE,HEIGHT" with points.
func decimals(s string) (Point, error) {
	parts := strings.Split(strings.TrimSpace(s), ",")
	if len(parts) != 2 && len(parts) != 3 {
		return Point{}, ErrUnclear
	}
	var v [3]float64
	for i, part := range parts {
		part = strings.TrimSpace(part)
		if !decimal.MatchString(part) {
			return Point{}, ErrUnclear
		}
		v[i], _ = strconv.ParseFloat(part, 64) // matched; too large is out of range
	}
	p := Point{Latitude: v[0], Longitude: v[1]}
	if len(parts) == 3 {
		p.Height = &v[2]
	}
	return p, nil
}

var (
	decimal = regexp.MustCompile(`^[-+]?\d+(\.\d+)?$`)

	// iso6709 is the compact form of the standard's annex H.
	iso6709 = regexp.MustCompile(`^([-+])(\d{2}|\d{4}|\d{6})(\.\d+)?([-+])(\d{3}|\d{5}|\d{7})(\.\d+)?([-+]\d+(?:\.\d+)?)?(CRS[^/]*)?/?$`)

	inLink = []*regexp.Regexp{
		regexp.MustCompile(`[?&#]mlat=(-?\d+\.?\d*)&mlon=(-?\d+\.?\d*)`),
		regexp.MustCompile(`[?&#](?:q|ll|query|daddr|destination|center|cp|sll|pin)=(?:loc:)?(-?\d+\.\d+)[,~](-?\d+\.\d+)`),
		regexp.MustCompile(`/@(-?\d+\.\d+),(-?\d+\.\d+)`),
		regexp.MustCompile(`[#/=](?:map=)?\d+(?:\.\d+)?/(-?\d+\.\d+)/(-?\d+\.\d+)`), // zoom, latitude, longitude
		regexp.MustCompile(`[?&]lat=(-?\d+\.?\d*)&(?:lon|lng)=(-?\d+\.?\d*)`),
	}
)

func parseISO(s string) (Point, error) {
	m := iso6709.FindStringSubmatch(s)
	if m[8] != "" && !strings.Contains(m[8], "WGS_84") && !strings.Contains(m[8], "WGS84") {
		return Point{}, ErrSystem
	}
	lat, err := sexagesimal(m[1], m[2], m[3], 2)
	if err != nil {
		return Point{}, err
	}
	lon, err := sexagesimal(m[4], m[5], m[6], 3)
	if err != nil {
		return Point{}, err
	}
	p := Point{Latitude: lat, Longitude: lon}
	if m[7] != "" {
		height, _ := strconv.ParseFloat(m[7], 64) // matched
		p.Height = &height
	}
	return p, nil
}

// sexagesimal reads degrees of so many digits, minutes and seconds in one row;
// the decimals are of the last.
func sexagesimal(sign, digits, decimals string, degrees int) (float64, error) {
	v, unit := 0.0, 1.0
	for at, end := 0, degrees; at < len(digits); at, end, unit = end, end+2, unit*60 {
		part := digits[at:end]
		if end == len(digits) {
			part += decimals
		}
		n, _ := strconv.ParseFloat(part, 64) // digits
		if at > 0 && n >= 60 {
			return 0, ErrSixty
		}
		v += n / unit
	}
	if sign == "-" {
		v = -v
	}
	return v, nil
}

// parseLink finds a place in the address of a map.
func parseLink(s string) (Point, error) {
	if plain, err := url.QueryUnescape(s); err == nil {
		s = plain
	}
	for _, form := range inLink {
		if m := form.FindStringSubmatch(s); m != nil {
			lat, _ := strconv.ParseFloat(m[1], 64) // matched
			lon, _ := strconv.ParseFloat(m[2], 64)
			return Point{Latitude: lat, Longitude: lon}, nil
		}
	}
	return Point{}, ErrUnclear
}
