package web

import (
	"pryday/scheduler"
	"pryday/scheduler/text"
)

// backupWarning is what organisers must know of the daily backups: that the last
// one failed, or that the newest is too old. Zero when all is well, or when this
// service makes none.
func (s *Server) backupWarning() (warning text.Text) {
	if s.cfg.Backups == nil {
		return warning
	}
	state, now := s.cfg.Backups(), s.cfg.Clock.Now()
	switch {
	case state.Newest.MadeAt.IsZero() && state.Full:
		return text.New("page.backup.never-full")
	case state.Newest.MadeAt.IsZero() && (state.Failed != "" || state.Stale(now)):
		return text.New("page.backup.never")
	case state.Stale(now):
		return text.New("page.backup.stale", int(scheduler.DateOf(now.UTC())-scheduler.DateOf(state.Newest.MadeAt.UTC())))
	case state.Full:
		return text.New("page.backup.failed-full")
	case state.Failed != "":
		return text.New("page.backup.failed")
	}
	return warning
}

// backupNote says on the page of records when the newest backup was made, in the
// club's time.
func (s *Server) backupNote(club *scheduler.Club) text.Text {
	if s.cfg.Backups == nil {
		return text.New("page.backup.none")
	}
	newest := s.cfg.Backups().Newest
	if newest.MadeAt.IsZero() {
		return text.New("page.backup.soon")
	}
	made := newest.MadeAt.In(club.Zone())
	return text.New("page.backup.newest", scheduler.DateOf(made), made.Format("15:04"))
}
