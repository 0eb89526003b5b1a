package store

import (
	"slices"
	"testing"
	"time"
)

// TestJobsDoNotWaitForAClock: what two clocks that are apart, or one that was put
// back, would keep waiting becomes due; what is put off for a reason stays so.
func TestJobsDoNotWaitForAClock(t *testing.T) {
	t.Parallel()
	s := open(t)
	owner(t, s, `
		INSERT INTO river_job (kind, args, state, max_attempts, queue, priority, scheduled_at)
		SELECT name, '{}', state::river_job_state, 25, 'default', 1, now() + ahead::interval
		  FROM (VALUES ('at once', 'available', '26 h'), ('taken up early', 'available', '5 s'), ('due', 'available', '-1 h'),
		               ('later', 'scheduled', '6 h'), ('too late', 'scheduled', '25 h'), ('after a fault', 'retryable', '25 h'),
		               ('under way', 'running', '25 h')) AS j(name, state, ahead)`)
	n, err := s.HurryJobs(t.Context(), 7*time.Hour)
	if err != nil || n != 3 {
		t.Errorf("%d jobs became due, want 3: %v", n, err)
	}
	ahead := rowsOf(t, s, `SELECT kind FROM river_job WHERE scheduled_at > now() + interval '1 s' ORDER BY kind`)
	if want := []string{"later", "taken up early", "under way"}; !slices.Equal(ahead, want) {
		t.Errorf("ahead lie %q, want %q", ahead, want)
	}
}
