package faults

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"time"
)

const roundsOfOpenings = 10 // of each of two phones

// recording is two phones that write openings down.
var recording = work{during: "recording", serves: true, start: func(h *house) (func(int) func(), func()) {
	const club = "Recording Circle"
	h.bringIn(club, 6)
	h.start()
	rec := h.signIn("keeper01@recording-circle.example").recorder(club)
	begin := func(int) func() {
		var phones sync.WaitGroup
		for range 2 {
			phones.Go(func() { rec.record(roundsOfOpenings) })
		}
		return phones.Wait
	}
	return begin, func() { h.settle(); rec.check() }
}}

// importing is an organiser who uploads more and more apiaries.
var importing = work{during: "import", serves: true, start: func(h *house) (func(int) func(), func()) {
	const club = "Importing Circle"
	h.bringIn(club, 4)
	h.start()
	k := h.signIn("keeper01@importing-circle.example")
	acked := map[string]bool{}
	// whole looks for a document that came in part.
	whole := func(name string, hives int) {
		had := 0
		c, _ := h.exported(club)
		for note := range notes(c) {
			if strings.HasPrefix(note, "first of "+name+"/") {
				had++
			}
		}
		if had != 0 && had != 3*hives {
			h.r.bad("of %d openings of an import that was cut off, %d are there", 3*hives, had)
		}
	}
	begin := func(n int) func() {
		const hives = 8
		name := fmt.Sprintf("Added %02d", n)
		file := h.file(document(fields{"club": fields{"name": club, "members": []any{}}, "apiaries": []any{apiaryOf(name, hives)}}))
		over := make(chan struct{})
		go func() {
			defer close(over)
			k.again(func() (bool, error) { return k.bring(file) }, func() {
				if h.isReady() {
					whole(name, hives)
				}
			})
		}()
		return func() {
			<-over
			for i := range hives {
				for b := range 3 {
					acked[fmt.Sprintf("first of %s/%d/%d", name, i+1, b+1)] = true
				}
			}
			h.r.ack(1)
		}
	}
	return begin, func() {
		h.settle()
		h.keeps(acked, h.isFresh(club))
	}
}}

// planning is an organiser who changes the rules of a club with many apiaries.
var planning = work{during: "planning", serves: true, start: func(h *house) (func(int) func(), func()) {
	const club = "Planning Circle"
	h.bringIn(club, 60)
	h.start()
	h.settle()
	rules := h.must("rules", "show", "--club", club)
	want := ""
	begin := func(n int) func() {
		days := fmt.Sprintf("max_days = %d", 380+n%2)
		changed := strings.Replace(withoutBase(rules), "max_days = 400", days, 1)
		file := h.log + ".rules.toml"
		if err := os.WriteFile(file, []byte(changed), 0o600); err != nil {
			h.Fatal(err)
		}
		over := make(chan struct{})
		go func() {
			defer close(over)
			for {
				if _, err := h.try("rules", "apply", file, "--club", club); err == nil {
					break
				}
				time.Sleep(50 * time.Millisecond)
			}
			want = days
			h.r.ack(1)
			h.settle()
		}()
		return func() { <-over }
	}
	return begin, func() {
		if !strings.Contains(h.must("rules", "show", "--club", club), want) {
			h.r.lost++
			h.r.bad("rules that were applied do not hold: no %s", want)
		}
		h.isFresh(club)
	}
}}

// withoutBase takes the comment out by which a file replaces one version only.
func withoutBase(rules string) string {
	var kept []string
	for _, l := range strings.Split(rules, "\n") {
		if !strings.HasPrefix(l, "#") {
			kept = append(kept, l)
		}
	}
	return strings.Join(kept, "\n")
}

// sending is a daemon that starts when a club has come whose members are all owed
// a mail.
var sending = work{during: "sending", serves: true, start: func(h *house) (func(int) func(), func()) {
	const members = 40
	kills := -1
	club := ""
	begin := func(n int) func() {
		kills++
		club = fmt.Sprintf("Sending Circle %02d", n)
		h.stop()
		h.bringIn(club, members)
		h.r.ack(1)
		h.launch()
		h.until(10*time.Minute, "the first mail has come", func() bool { return h.mails.count() > 0 })
		return h.settle
	}
	return begin, func() {
		h.mail(kills * 4) // as many as go at once
		h.isFresh(club)
	}
}}
