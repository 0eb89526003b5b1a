package web

import (
	"context"
	"net/http"
	"sync"
	"time"
)

// An import holds a document, what became of it and all records of its club in
// memory, so few run at a time.
const (
	importsAtOnce = 2
	importWait    = 20 * time.Second // for another club's to end
)

// imports are the turns of bringing records in.
type imports struct {
	slots chan struct{}
	clubs *sync.Map // that bring records in now
}

func newImports() imports {
	return imports{make(chan struct{}, importsAtOnce), &sync.Map{}}
}

// begin takes a club's turn, one at a time; end gives it back.
func (i imports) begin(ctx context.Context, w http.ResponseWriter, club int64) (end func(), err error) {
	if _, busy := i.clubs.LoadOrStore(club, true); busy {
		return nil, newProblem(http.StatusConflict, "problem.import-runs")
	}
	wait := time.NewTimer(importWait)
	defer wait.Stop()
	select {
	case i.slots <- struct{}{}:
		return func() { <-i.slots; i.clubs.Delete(club) }, nil
	case <-ctx.Done():
		err = ctx.Err()
	case <-wait.C:
		w.Header().Set("Retry-After", "30")
		err = newProblem(http.StatusServiceUnavailable, "problem.imports-run")
	}
	i.clubs.Delete(club)
	return nil, err
}
