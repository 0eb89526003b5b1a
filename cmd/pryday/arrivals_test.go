package main

import (
	"net"
	"net/http"
	"net/http/httptest"
	"testing"
)

// TestArrivedIsWhatAHandlerHas: a request that was read is on its way until its
// handler has it, since a server that stops in between drops it; and a connection
// that ends without one keeps nobody waiting.
func TestArrivedIsWhatAHandlerHas(t *testing.T) {
	t.Parallel()
	a := &arrivals{}
	answered := false
	server := &http.Server{Handler: http.HandlerFunc(func(http.ResponseWriter, *http.Request) { answered = true })}
	a.watch(server)
	asks, leaves := net.Conn(&net.TCPConn{}), net.Conn(&net.UnixConn{})
	waits := func(c net.Conn) bool { _, is := a.fresh.Load(c); return is }
	for _, c := range []net.Conn{asks, leaves} {
		server.ConnState(c, http.StateNew)
		server.ConnState(c, http.StateActive)
		if !waits(c) {
			t.Errorf("%T: read is taken for handed over", c)
		}
	}
	r := httptest.NewRequestWithContext(server.ConnContext(t.Context(), asks), http.MethodGet, "/", nil)
	server.Handler.ServeHTTP(httptest.NewRecorder(), r)
	if waits(asks) || !answered {
		t.Error("what its handler has is waited for")
	}
	server.ConnState(leaves, http.StateClosed)
	a.waiting.Wait()
}
