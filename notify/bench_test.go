package notify_test

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"pryday/notify"
	"pryday/notify/smtp"
	"pryday/notify/smtp/smtptest"
	"pryday/testdata/testrun"
)

// renderAndSend renders n messages and hands them over on 4 connections. It
// returns messages a second and the size of one.
func (b *fixture) renderAndSend(tb testing.TB, port, n int) (perSecond float64, size int) {
	s := senderTo(tb, port, func(c *smtp.Config) { c.Timeout = 10 * time.Second })
	service := b.service(tb, s)
	var drafts []*notify.Draft
	if len(b.messages(tb)) == 0 {
		b.oweReminders(tb, 50)
	}
	for _, m := range b.messages(tb) {
		d, err := service.Read(tb.Context(), b.club, m.ID)
		if err != nil {
			tb.Fatal(err)
		}
		drafts = append(drafts, d)
	}
	var next, bytes atomic.Int64
	var wg sync.WaitGroup
	began := time.Now()
	for range 4 {
		wg.Go(func() {
			for i := next.Add(1); i <= int64(n); i = next.Add(1) {
				l, err := service.Letter(context.Background(), drafts[i%int64(len(drafts))])
				if err != nil {
					tb.Error(err)
					return
				}
				bytes.Store(int64(len(l.Text)))
				if o := s.Send(context.Background(), l); o.Verdict != smtp.Delivered {
					tb.Errorf("%+v", o)
					return
				}
			}
		})
	}
	wg.Wait()
	return float64(n) / time.Since(began).Seconds(), int(bytes.Load())
}

// BenchmarkRender writes one reminder: text, HTML, headers.
func BenchmarkRender(b *testing.B) {
	bed := newFixture(b)
	service := bed.service(b, &nowhere{})
	d, err := service.Read(b.Context(), bed.club, bed.oweReminders(b, 1)[0].ID)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	size := 0
	for b.Loop() {
		l, err := service.Letter(b.Context(), d)
		if err != nil {
			b.Fatal(err)
		}
		size = len(l.Text)
	}
	b.ReportMetric(float64(size), "bytes/message")
}

// BenchmarkRenderAndSend renders and hands over to a server in this process.
func BenchmarkRenderAndSend(b *testing.B) {
	bed, server := newFixture(b), smtptest.NewFaultyServer(b, "none", "", 0)
	rate, _ := bed.renderAndSend(b, server.Port(), max(b.N, 100))
	b.ReportMetric(rate, "messages/s")
}

// BenchmarkPipeline delivers recorded messages through the job engine and the
// database to a server in this process.
func BenchmarkPipeline(b *testing.B) {
	bed, server := newFixture(b), smtptest.NewFaultyServer(b, "none", "", 0)
	n := max(b.N, 500)
	bed.oweReminders(b, n)
	service := bed.service(b, senderTo(b, server.Port(), nil))
	runtime.GC()
	b.ResetTimer()
	began := time.Now()
	if err := service.Start(b.Context()); err != nil {
		b.Fatal(err)
	}
	testrun.Until(b, "all is sent", func() bool { return bed.allSent(b) })
	rate := float64(n) / time.Since(began).Seconds()
	b.StopTimer()
	if err := service.Stop(context.Background()); err != nil {
		b.Fatal(err)
	}
	if got := len(server.Messages()); got < n {
		b.Fatalf("%d of %d arrived", got, n)
	}
	b.ReportMetric(rate, "messages/s")
}
