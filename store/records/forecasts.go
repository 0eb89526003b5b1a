package records

import (
	"math"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

type (
	forecastJSON struct {
		MadeOn         scheduler.Date `json:"made_on"`
		Openings       int            `json:"openings"`
		Hard           float64        `json:"hard"`
		Stuck          float64        `json:"stuck"`
		ModelHard      float64        `json:"model_hard"`
		ModelStuck     float64        `json:"model_stuck"`
		Rules          int            `json:"rules,omitempty"`
		RecalibratedOn string         `json:"recalibrated_on,omitempty"`
	}
	recalibrationJSON struct {
		MadeOn   scheduler.Date `json:"made_on"`
		Openings int            `json:"openings"`
		Hard     curveJSON      `json:"hard"`
		Stuck    curveJSON      `json:"stuck"`
	}
	curveJSON struct {
		Intercept float64 `json:"intercept"`
		Slope     float64 `json:"slope"`
	}
)

func sayForecast(f *scheduler.Forecast) *forecastJSON {
	return &forecastJSON{f.MadeOn, f.Openings, f.Hard, f.Stuck, f.ModelHard, f.ModelStuck, f.Rules, f.Recalibrated.String()}
}

func sayRecalibration(r *scheduler.Recalibration) *recalibrationJSON {
	return &recalibrationJSON{r.MadeOn, r.Openings, curveJSON(r.Hard), curveJSON(r.Stuck)}
}

// forecast reads what was said of an opening before it was made.
func (p *parser) forecast(n *node) *scheduler.Forecast {
	var out scheduler.Forecast
	o := p.object(n)
	if f := o.need("made_on", text.New("records.allow.said-on")); f != nil {
		out.MadeOn = p.date(f)
	}
	if f := o.need("openings", text.New("records.allow.said-openings")); f != nil {
		out.Openings = p.whole(f, 0, math.MaxInt32, "")
	}
	out.Hard, out.Stuck = p.chances(o, "hard", "stuck")
	out.ModelHard, out.ModelStuck = p.chances(o, "model_hard", "model_stuck")
	if f := o.get("rules"); f != nil {
		out.Rules = p.whole(f, 1, math.MaxInt32, "")
	}
	if f := o.get("recalibrated_on"); f != nil {
		out.Recalibrated = p.date(f)
	}
	o.done()
	return &out
}

// chances reads the odds of a hard opening and of a stuck one, which is hard too.
func (p *parser) chances(o *object, hard, stuck string) (h, s float64) {
	allowed := text.New("records.allow.chance")
	if f := o.need(hard, allowed); f != nil {
		h = p.number(f, 0, 1, "")
	}
	if f := o.need(stuck, allowed); f != nil {
		if s = p.number(f, 0, 1, ""); s > h {
			p.bad(f, "records.why.likelier", text.New("records.allow.chance-of", hard))
		}
	}
	return h, s
}

func (p *parser) recalibration(n *node) scheduler.Recalibration {
	var out scheduler.Recalibration
	o := p.object(n)
	if f := o.need("made_on", text.New("records.allow.said-on")); f != nil {
		out.MadeOn = p.date(f)
	}
	if f := o.need("openings", text.New("records.allow.said-openings")); f != nil {
		out.Openings = p.whole(f, 1, math.MaxInt32, "")
	}
	out.Hard, out.Stuck = p.curve(o, "hard"), p.curve(o, "stuck")
	o.done()
	return out
}

func (p *parser) curve(of *object, key string) scheduler.Curve {
	out := scheduler.Curve{Slope: 1}
	n := of.need(key, text.New("records.allow.curve"))
	if n == nil {
		return out
	}
	o := p.object(n)
	if f := o.need("intercept", text.New("records.allow.curve")); f != nil {
		out.Intercept = p.number(f, -20, 20, "")
	}
	if f := o.need("slope", text.New("records.allow.curve")); f != nil {
		out.Slope = p.number(f, scheduler.LeastSlope, scheduler.MostSlope, "")
	}
	o.done()
	return out
}
