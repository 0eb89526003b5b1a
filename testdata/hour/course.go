package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"

	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
)

// watched is what must stay level: the metric, its unit on the screen, by how
// much that is divided, and what it may grow by beside a tenth.
var watched = []struct {
	metric, unit string
	by, slack    float64
}{
	{"go_memory_classes_heap_objects_bytes", "MB of live and dead objects", 1 << 20, 4},
	{"process_resident_memory_bytes", "MB of memory", 1 << 20, 4},
	{"go_goroutines", "goroutines", 1, 4},
	{"process_open_fds", "open files", 1, 4},
	{"pryday_pool_connections", "connections", 1, 2},
}

// state reads what is watched off the service.
func (v *visitor) state(ctx context.Context) ([]float64, error) {
	page, _, err := v.ask(ctx, http.MethodGet, "/metrics", "", nil)
	if err != nil {
		return nil, err
	}
	parser := expfmt.NewTextParser(model.LegacyValidation)
	families, err := parser.TextToMetricFamilies(strings.NewReader(page))
	if err != nil {
		return nil, fmt.Errorf("read /metrics: %w", err)
	}
	out := make([]float64, len(watched))
	for i, w := range watched {
		f := families[w.metric]
		if f == nil {
			return nil, fmt.Errorf("/metrics has no %s", w.metric)
		}
		for _, m := range f.Metric {
			out[i] += m.GetGauge().GetValue() + m.GetUntyped().GetValue()
		}
	}
	return out, nil
}

// course is what was watched, from the first second to the last.
type course struct{ states [][]float64 }

func (c *course) add(state []float64) { c.states = append(c.states, state) }

// print writes the median of each quarter. What grew from the second quarter
// to the last by more than a tenth and its slack is an error.
func (c *course) print(w io.Writer) error {
	if len(c.states) < 8 {
		return fmt.Errorf("%d looks at the service are too few", len(c.states))
	}
	fmt.Fprintln(w, "| what | first quarter | second | third | last | |\n| --- | --- | --- | --- | --- | --- |")
	var grew error
	for i, what := range watched {
		var quarters [4]float64
		for q := range quarters {
			var of []float64
			for _, s := range c.states[q*len(c.states)/4 : (q+1)*len(c.states)/4] {
				of = append(of, s[i]/what.by)
			}
			slices.Sort(of)
			quarters[q] = of[len(of)/2]
		}
		word := "level"
		if quarters[3] > 1.1*quarters[1]+what.slack {
			word = "grows"
			grew = errors.Join(grew, fmt.Errorf("%s grow from %.4g to %.4g", what.unit, quarters[1], quarters[3]))
		}
		fmt.Fprintf(w, "| %s | %.4g | %.4g | %.4g | %.4g | %s |\n", what.unit, quarters[0], quarters[1], quarters[2], quarters[3], word)
	}
	return grew
}
