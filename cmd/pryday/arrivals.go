package main

import (
	"context"
	"net"
	"net/http"
	"sync"
)

// arrivals are the connections whose first request is not read yet. Shutdown takes
// those for idle after a few seconds, whatever is on its way in them.
type arrivals struct {
	fresh   sync.Map // net.Conn
	waiting sync.WaitGroup
}

// note is a server's ConnState.
func (a *arrivals) note(c net.Conn, state http.ConnState) {
	if state == http.StateNew {
		a.waiting.Add(1)
		a.fresh.Store(c, nil)
		return
	}
	if _, was := a.fresh.LoadAndDelete(c); was {
		a.waiting.Done()
	}
}

// closeAfter ends a server that no longer accepts anybody: once what arrived
// before has been read, and all requests are answered.
func (a *arrivals) closeAfter(ctx context.Context, server *http.Server) error {
	read := make(chan struct{})
	go func() { a.waiting.Wait(); close(read) }() // at the latest after ReadHeaderTimeout
	select {
	case <-read:
	case <-ctx.Done():
	}
	return server.Shutdown(ctx)
}
