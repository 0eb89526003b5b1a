package coordinates

import "slices"

// pair reads a latitude and a longitude.
func pair(tokens []token) (Point, error) {
	numbers, winds, axes := 0, 0, 0
	for _, t := range tokens {
		switch t.kind {
		case 'n':
			numbers++
		case 'w':
			winds++
		case 'a':
			axes++
		}
	}
	switch {
	case numbers < 2:
		return Point{}, ErrNone
	case winds == 2:
		return marked(slices.DeleteFunc(slices.Clone(tokens), func(t token) bool { return t.kind == 'a' || t.kind == ',' }), 'w')
	case winds > 0 || axes != 0 && axes != 2:
		return Point{}, ErrUnclear
	case axes == 2:
		return marked(slices.DeleteFunc(slices.Clone(tokens), func(t token) bool { return t.kind == ',' }), 'a')
	}
	return unmarked(tokens)
}

// marked reads two parts that each begin, or each end, with what says its axis.
func marked(tokens []token, mark byte) (Point, error) {
	isMark := func(t token) bool { return t.kind == mark }
	first := slices.IndexFunc(tokens, isMark)
	second := first + 1 + slices.IndexFunc(tokens[first+1:], isMark)
	cut := first + 1 // each ends with it
	switch {
	case first == 0:
		cut = second
	case second != len(tokens)-1:
		return Point{}, ErrUnclear
	}
	if tokens[first].axis == tokens[second].axis {
		return Point{}, ErrUnclear
	}
	return together(tokens[:cut], tokens[cut:], tokens[first].axis)
}

// together reads two parts, the first along an axis.
func together(a, b []token, first axis) (Point, error) {
	other := eastWest
	if first == eastWest {
		other = northSouth
	}
	x, err := value(a, first)
	if err != nil {
		return Point{}, err
	}
	y, err := value(b, other)
	if err != nil {
		return Point{}, err
	}
	if first == eastWest {
		x, y = y, x
	}
	return Point{Latitude: x, Longitude: y}, nil
}

// unmarked reads numbers without letters: the latitude, the longitude, and
// perhaps a height.
func unmarked(tokens []token) (Point, error) {
	var parts [][]token
	separated := false
	last := []token{}
	for _, t := range tokens {
		if t.kind != ',' {
			last = append(last, t)
			continue
		}
		separated = true
		parts, last = append(parts, last), []token{}
	}
	if len(last) > 0 {
		parts = append(parts, last)
	}
	switch {
	case separated && len(parts) == 2:
		return together(parts[0], parts[1], northSouth)
	case separated && len(parts) == 3 && len(parts[0]) == 1 && len(parts[1]) == 1 && len(parts[2]) == 1:
		p, err := together(parts[0], parts[1], northSouth)
		height, e := signed(parts[2][0])
		if err == nil && e == nil {
			p.Height = &height
		}
		return p, err
	case separated:
		return Point{}, ErrUnclear
	}
	cut := half(tokens)
	if cut < 0 {
		return Point{}, ErrUnclear
	}
	return together(tokens[:cut], tokens[cut:], northSouth)
}

// half is where the second of two coordinates begins: at the number before the
// second sign for degrees, or after half of as many bare numbers.
func half(tokens []token) int {
	degrees, numbers := 0, []int{}
	for i, t := range tokens {
		switch t.kind {
		case 'd':
			if degrees++; degrees == 2 && i > 0 {
				return i - 1
			}
		case 'n':
			numbers = append(numbers, i)
		}
	}
	if n := len(numbers); degrees == 0 && (n == 2 || n == 4 || n == 6) {
		return numbers[n/2]
	}
	return -1
}

func signed(t token) (float64, error) {
	if t.kind != 'n' {
		return 0, ErrUnclear
	}
	if t.minus {
		return -t.value, nil
	}
	return t.value, nil
}

// value reads one coordinate: up to three numbers with their units in order,
// and at most one wind.
func value(tokens []token, along axis) (float64, error) {
	var numbers []token
	minus, wind := false, false
	for i, t := range tokens {
		switch t.kind {
		case 'n':
			numbers = append(numbers, t)
		case 'd', 'm', 's':
			if i == 0 || tokens[i-1].kind != 'n' || unitOf(len(numbers)) != t.kind {
				return 0, ErrUnclear
			}
		case 'w', 'a':
			if t.axis != along || wind && t.kind == 'w' || i != 0 && i != len(tokens)-1 {
				return 0, ErrUnclear
			}
			if t.kind == 'w' {
				minus, wind = t.minus, true
			}
		default:
			return 0, ErrUnclear
		}
	}
	if len(tokens) == 0 {
		return 0, ErrNone
	}
	if len(numbers) == 0 || len(numbers) > 3 {
		return 0, ErrUnclear
	}
	if numbers[0].minus {
		if wind {
			return 0, ErrUnclear // is it south of the south?
		}
		minus = true
	}
	v := numbers[0].value
	for i, t := range numbers[1:] {
		if t.minus {
			return 0, ErrUnclear
		}
		if t.value >= 60 || !numbers[i].whole {
			return 0, ErrSixty
		}
		v += t.value / []float64{60, 3600}[i]
	}
	if minus {
		v = -v
	}
	return v, nil
}

func unitOf(number int) byte { return " dms"[min(number, 3)] }
