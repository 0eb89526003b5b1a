package store

import (
	"context"
	"sync/atomic"
)

// Reader is one who reads and writes in turn, such as a browser from request to
// request, and never sees less than before.
type Reader struct {
	seen  Position
	wrote atomic.Bool
}

type (
	readerKey struct{}
	lagKey    struct{}
)

// WithReader says on whose behalf a context reads: of one who knows what was
// committed up to a position.
func WithReader(ctx context.Context, seen Position) (context.Context, *Reader) {
	r := &Reader{seen: seen}
	return context.WithValue(ctx, readerKey{}, r), r
}

// Wrote reports whether anything of a club was changed on the reader's behalf.
func (r *Reader) Wrote() bool { return r.wrote.Load() }

// MayLag allows snapshots to be some seconds old, and so to come from a replica:
// never without what the context's Reader has seen or written. What fn of such a
// snapshot returns an error for is read again from the primary.
func MayLag(ctx context.Context) context.Context { return context.WithValue(ctx, lagKey{}, true) }

// lagging returns the replica where a context may read from it.
func (s *Store) lagging(ctx context.Context) *replica {
	r := s.replica
	if r == nil || !r.used.Load() || ctx.Value(lagKey{}) == nil {
		return nil
	}
	if reader, ok := ctx.Value(readerKey{}).(*Reader); ok && (reader.wrote.Load() || !r.has(ctx, reader.seen)) {
		return nil
	}
	return r
}

// noteWritten tells the context's Reader.
func noteWritten(ctx context.Context) {
	if reader, ok := ctx.Value(readerKey{}).(*Reader); ok {
		reader.wrote.Store(true)
	}
}
