package main

import (
	"context"
	"net"
	"net/http"
	"sync"
)

// arrivals are the connections whose first request has not come to its handler
// yet. Shutdown takes those for idle after a few seconds, whatever is on its way
// in them, and drops a request that was read but not handed over.
type arrivals struct {
	fresh   sync.Map // net.Conn
	waiting sync.WaitGroup
}

// connKey is where a request's context has its connection.
type connKey struct{}

// watch has a server note what arrives. It must not have begun to serve.
func (a *arrivals) watch(server *http.Server) {
	server.ConnContext = func(ctx context.Context, c net.Conn) context.Context { return context.WithValue(ctx, connKey{}, c) }
	server.ConnState = func(c net.Conn, state http.ConnState) {
		switch state {
		case http.StateNew:
			a.waiting.Add(1)
			a.fresh.Store(c, nil)
		case http.StateClosed, http.StateHijacked:
			a.handed(c)
		}
	}
	next := server.Handler
	server.Handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a.handed(r.Context().Value(connKey{}))
		next.ServeHTTP(w, r)
	})
}

// handed notes that a connection's first request came to its handler, or never will.
func (a *arrivals) handed(conn any) {
	if _, was := a.fresh.LoadAndDelete(conn); was {
		a.waiting.Done()
	}
}

// closeAfter ends a server that no longer accepts anybody: once what arrived
// before has come to its handler, and all requests are answered.
func (a *arrivals) closeAfter(ctx context.Context, server *http.Server) error {
	all := make(chan struct{})
	go func() { a.waiting.Wait(); close(all) }() // at the latest after ReadHeaderTimeout
	select {
	case <-all:
	case <-ctx.Done():
	}
	return server.Shutdown(ctx)
}
