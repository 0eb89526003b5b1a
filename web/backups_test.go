package web

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"pryday/store/backup"
)

// Organisers are told when the service is not backed up, and members are not.
func TestBackupsThatFailAreTold(t *testing.T) {
	t.Parallel()
	c := serveClub(t)
	ansel, brida, stranger := c.as("Ansel"), c.as("Brida"), c.stranger()
	now := time.Now()
	newest := backup.Kept{MadeAt: now.Add(-5 * time.Hour), Bytes: 4096}
	for _, tt := range []struct {
		name    string
		state   backup.State
		warning string // of organisers, empty for none
		note    string // on the page of records
		metrics string
	}{
		{"as it should be", backup.State{Newest: newest}, "", "was last backed up on", "pryday_backup_failed 0"},
		{"failed last night", backup.State{Newest: newest, Failed: "no room"}, "backup of this service failed", "was last backed up on", "pryday_backup_failed 1"},
		{"stale", backup.State{Newest: backup.Kept{MadeAt: now.AddDate(0, 0, -6)}, Failed: "no room"}, "6 days old", "was last backed up on", "pryday_backup_failed 1"},
		{"never, since it fails", backup.State{Failed: "no room", Since: now}, "could not be backed up yet", "is being made", "pryday_backup_failed 1"},
		{"no room last night", backup.State{Newest: newest, Failed: "the disk", Full: true}, "backup of this service failed: its disk has too little room", "was last backed up on", "pryday_backup_failed 1"},
		{"never had room", backup.State{Failed: "the disk", Full: true, Since: now}, "could not be backed up yet: its disk has too little room", "is being made", "pryday_backup_failed 1"},
		{"about to begin", backup.State{Since: now}, "", "is being made", "pryday_backup_failed 0"},
		{"never, and nobody knows why", backup.State{Since: now.Add(-2 * time.Hour)}, "could not be backed up yet", "is being made", "pryday_backup_failed 0"},
	} {
		c.server.cfg.Backups = func() backup.State { return tt.state }
		page := ansel.get("/records").says(http.StatusOK, tt.note)
		for _, words := range []string{"backup of this service failed", "days old", "could not be backed up yet", "has too little room"} {
			if strings.Contains(page.body, words) != (words == tt.warning || strings.Contains(tt.warning, words)) {
				t.Errorf("%s: the warning %q is there or not, against what it should be", tt.name, words)
			}
		}
		if tt.warning != "" {
			brida.get("/").says(http.StatusOK).hides(tt.warning)
		}
		if m := stranger.get("/metrics").body; !strings.Contains(m, "\n"+tt.metrics+"\n") || strings.Contains(m, "pryday_backup_age_seconds") == tt.state.Newest.MadeAt.IsZero() {
			t.Errorf("%s: the metrics say %s", tt.name, m)
		}
	}
	c.server.cfg.Backups = nil
	ansel.get("/records").says(http.StatusOK, "makes no backups by itself")
}
