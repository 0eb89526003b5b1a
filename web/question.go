package web

import (
	"net/http"
	"strings"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// question is asked back before something unusual is done, or something that
// cannot be undone.
type question struct{ text text.Text }

func (q *question) Error() string { return (&text.Speaker{}).Tell(q.text) }

// sureView asks back before something unusual, with all that was sent.
type sureView struct {
	Text   text.Text
	Action string
	Fields [][2]string
	Back   string
}

// keep returns the fields of a form, for asking again.
func keep(f *form) [][2]string {
	var out [][2]string
	for name, values := range f.values {
		for _, v := range values {
			if name != "sure" && !strings.HasPrefix(name, "_") {
				out = append(out, [2]string{name, v})
			}
		}
	}
	return out
}

// askBack shows a question to a member, with a button that sends the form again
// and says yes to it.
func (s *Server) askBack(w http.ResponseWriter, r *http.Request, who *visitor, club *scheduler.Club, title string, f *form, q *question, back string) error {
	return s.showTo(w, r, who, club, http.StatusUnprocessableEntity, "sure", title, sureView{
		Text: q.text, Action: r.URL.Path, Fields: keep(f), Back: back,
	})
}

// askSelf is askBack on a page about the member's own, under the title of a key.
func (s *Server) askSelf(w http.ResponseWriter, r *http.Request, who *visitor, title string, f *form, q *question, back string) error {
	club, m, err := s.ownRecord(r, who)
	if err != nil {
		return err
	}
	return s.askBack(w, r, who, club, speaker(club, m.ID).Say(title), f, q, back)
}
