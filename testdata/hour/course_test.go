package main

import (
	"io"
	"strings"
	"testing"
)

// What leaks is found, what warms up and comes and goes is not.
func TestCourse(t *testing.T) {
	for name, tt := range map[string]struct {
		at   func(second int) float64 // of goroutines
		want string
	}{
		"level":             {func(int) float64 { return 50 }, ""},
		"warms up":          {func(s int) float64 { return min(50, float64(s)) }, ""},
		"comes and goes":    {func(s int) float64 { return 50 + float64(s%7) }, ""},
		"one leaks a while": {func(s int) float64 { return 50 + float64(s)/20 }, "goroutines grow"},
	} {
		t.Run(name, func(t *testing.T) {
			c := &course{}
			for s := range 400 {
				state := make([]float64, len(watched))
				state[2] = tt.at(s)
				c.add(state)
			}
			err := c.print(io.Discard)
			if (err != nil) != (tt.want != "") || err != nil && !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want %q", err, tt.want)
			}
		})
	}
}
