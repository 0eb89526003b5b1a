package web

import (
	"context"
	"log/slog"
	"maps"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/riverqueue/river/rivertype"

	"pryday/store"
)

// countedFor is how long counts of the database serve: collectors may be many,
// and each count reads whole tables.
const countedFor = 15 * time.Second

// serviceCounts keeps what the database counted last.
type serviceCounts struct {
	keep  time.Duration
	mutex sync.Mutex
	at    time.Time
	last  *store.ServiceCounts // nil when the database did not answer
}

// counts asks the database, unless it was asked a moment ago.
func (c *serviceCounts) counts(s *Server) *store.ServiceCounts {
	c.mutex.Lock()
	defer c.mutex.Unlock()
	if !c.at.IsZero() && time.Since(c.at) < c.keep {
		return c.last
	}
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	var err error
	if c.last, err = s.cfg.Store.ServiceCounts(ctx, s.cfg.Clock.Now(), s.now()); err != nil {
		s.cfg.Logger.Warn("metrics", "err", err)
	}
	c.at = time.Now()
	return c.last
}

// serviceCollector reads what the service knows of itself when it is asked.
type serviceCollector struct{ *Server }

// Describe says nothing: what is there depends on how the service is set up.
func (serviceCollector) Describe(chan<- *prometheus.Desc) {}

// Collect sends all numbers.
func (s serviceCollector) Collect(to chan<- prometheus.Metric) {
	r := readings{to: to, log: s.cfg.Logger}
	s.collectBuild(r)
	s.collectFeeds(r)
	s.collectMachine(r)
	s.collectMail(r)
	s.collectDatabase(r)
}

// readings sends numbers; labels are pairs of a name and a value.
type readings struct {
	to  chan<- prometheus.Metric
	log *slog.Logger
}

func (r readings) gauge(name, help string, value float64, labels ...string) {
	r.send(prometheus.GaugeValue, name, help, value, labels)
}

func (r readings) counter(name, help string, value float64, labels ...string) {
	r.send(prometheus.CounterValue, name, help, value, labels)
}

func (r readings) send(kind prometheus.ValueType, name, help string, value float64, labels []string) {
	var names, values []string
	for pair := range slices.Chunk(labels, 2) {
		names, values = append(names, pair[0]), append(values, pair[1])
	}
	m, err := prometheus.NewConstMetric(prometheus.NewDesc(name, help, names, nil), kind, value, values...)
	if err != nil {
		r.log.Error("metrics", "name", name, "err", err)
		return
	}
	r.to <- m
}

// yes is 1 for true.
func yes(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (s *Server) collectBuild(r readings) {
	b := s.cfg.Build
	r.gauge("pryday_build_info", "1, with what is running: the release, or the commit and whether files differed.", 1,
		"version", b.Version, "revision", b.Revision, "modified", strconv.FormatBool(b.Modified), "goversion", b.Go)
}

func (s *Server) collectFeeds(r readings) {
	f := s.feeds.Counts()
	for _, status := range slices.Sorted(maps.Keys(f.Answers)) {
		r.counter("pryday_feed_answers_total", "Answers to requests for calendars, by HTTP status.", float64(f.Answers[status]), "status", strconv.Itoa(status))
	}
	r.counter("pryday_feed_renders_total", "Calendars rendered.", float64(f.Renders))
	r.counter("pryday_feed_part_renders_total", "Of those, for the apiaries that changed alone, with what was kept of the others.", float64(f.Parts))
	r.counter("pryday_feed_render_failures_total", "Calendars that could not be rendered.", float64(f.RenderFailures))
	r.counter("pryday_feed_render_seconds_total", "Time spent in rendering calendars.", f.RenderTime.Seconds())
	r.counter("pryday_feed_stale_answers_total", "Answers from the last good copy.", float64(f.Stale))
	r.counter("pryday_feed_version_queries_total", "Answers for which the database was asked whether memory is true.", float64(f.VersionQueries))
	r.gauge("pryday_feed_cached", "Calendars in memory as a whole.", float64(f.Cached))
	r.gauge("pryday_feed_tags", "Calendars of which memory knows at least the tag, so that whoever has one hears so at once.", float64(f.Tags))
	r.gauge("pryday_feed_cached_bytes", "Memory that calendars and tags take.", float64(f.CachedBytes))
	r.counter("pryday_feed_listener_connections_total", "Connections made to hear of changes.", float64(f.Connections))
	r.gauge("pryday_feed_listener_trusted", "1 while changes are heard of.", yes(f.Hears))
}

func (s *Server) collectMachine(r readings) {
	if s.cfg.StateDir != "" {
		free, low := s.diskLeft()
		r.gauge("pryday_disk_free_bytes", "Room on the disk of the state directory; the service is not ready below 256 MB.", float64(free))
		r.gauge("pryday_disk_low", "1 while the disk has too little room.", yes(low))
	}
	if s.cfg.Backups == nil {
		return
	}
	b := s.cfg.Backups()
	if !b.Newest.MadeAt.IsZero() { // until there is one its age is not known
		r.gauge("pryday_backup_age_seconds", "Age of the newest daily backup; organisers are warned at 180000.", s.cfg.Clock.Now().Sub(b.Newest.MadeAt).Seconds())
		r.gauge("pryday_backup_bytes", "Size of the newest daily backup.", float64(b.Newest.Bytes))
	}
	r.gauge("pryday_backup_failed", "1 while the last attempt at a daily backup has failed.", yes(b.Failed != ""))
}

func (s *Server) collectMail(r readings) {
	if s.cfg.Notify == nil {
		return
	}
	m := s.cfg.Notify.Counts()
	for outcome, n := range map[string]int64{
		"owed": m.Owed, "delivered": m.Delivered, "passed_over": m.PassedOver, "refused": m.Refused, "given_up": m.GivenUp, "retried": m.Retried, "unsure": m.Unsure,
	} {
		r.counter("pryday_messages_total", "Messages by what became of them in this process; 'owed' are those that were decided on, without sign-in and other mails that pages ask for.", float64(n), "outcome", outcome)
	}
	r.counter("pryday_ticks_total", "Times that it was decided what every club owes, by how it went.", float64(m.Ticks), "outcome", "done")
	r.counter("pryday_ticks_total", "Times that it was decided what every club owes, by how it went.", float64(m.TicksFailed), "outcome", "failed")
	if !m.LastTick.IsZero() {
		r.gauge("pryday_tick_last_timestamp_seconds", "When it was last decided, without a fault, what every club owes: each minute.", float64(m.LastTick.UnixMilli())/1000)
		r.gauge("pryday_tick_last_duration_seconds", "How long deciding took then.", m.LastTickTook.Seconds())
	}
}

func (s *Server) collectDatabase(r readings) {
	p := s.cfg.Store.PoolState()
	r.gauge("pryday_pool_connections", "Connections to the database that pages and calendars share, by use.", float64(p.Used), "use", "busy")
	r.gauge("pryday_pool_connections", "Connections to the database that pages and calendars share, by use.", float64(p.Idle), "use", "idle")
	r.gauge("pryday_pool_connections_limit", "How many of these connections there may be.", float64(p.Most))
	r.counter("pryday_pool_waits_total", "Times that somebody waited for a connection.", float64(p.Waits))
	r.counter("pryday_pool_wait_seconds_total", "Time spent in waiting for a connection.", p.Waited.Seconds())
	s.collectReplica(r)
	c := s.metrics.counted.counts(s)
	r.gauge("pryday_database_up", "1 while the database counts; without it all that it counts is missing.", yes(c != nil))
	if c == nil {
		return
	}
	r.gauge("pryday_database_info", "1, with the version of PostgreSQL and the number of the schema.", 1, "postgres", c.Postgres, "schema", strconv.FormatInt(c.Schema, 10))
	r.gauge("pryday_database_size_bytes", "Room that the database takes.", float64(c.Database))
	r.gauge("pryday_clubs", "Clubs with an apiary.", float64(c.Clubs))
	r.gauge("pryday_clubs_behind", "Clubs without a plan for their present day by the rules in force; each is behind for a moment after its midnight.", float64(c.ClubsBehind))
	r.gauge("pryday_plan_oldest_age_seconds", "Time since the beginning of the day that the oldest plan of a club is for; below 86400 all plans are today's.", c.OldestPlan.Seconds())
	r.gauge("pryday_messages_recorded", "Messages on record, in all.", float64(c.Recorded))
	for _, state := range store.MessageStates {
		r.gauge("pryday_messages_kept", "Messages on record, by state: together all that are.", float64(c.Messages[state]), "state", string(state))
	}
	for _, tried := range []bool{false, true} {
		for _, age := range []store.OwedAge{store.OwedThisHour, store.OwedThisDay, store.OwedOlder} {
			r.gauge("pryday_messages_owed", "Messages that are owed, by whether a server was asked already, and since when: less than an hour, a day, longer.",
				float64(c.Owed[store.OwedPart{Tried: tried, Age: age}]), "tried", strconv.FormatBool(tried), "age", string(age))
		}
	}
	r.gauge("pryday_message_owed_oldest_seconds", "Age of the message that is owed longest; 0 while none is.", c.OldestOwed.Seconds())
	r.gauge("pryday_mail_unread", "Mails that came in and wait to be read.", float64(c.MailToRead))
	for _, state := range rivertype.JobStates() {
		r.gauge("pryday_jobs", "Jobs of the queue, by state.", float64(c.Jobs[state]), "state", string(state))
	}
	r.gauge("pryday_job_oldest_wait_seconds", "How long the job that waits longest could have run by now; 0 while none waits.", c.OldestJob.Seconds())
}

func (s *Server) collectReplica(r readings) {
	state := s.cfg.Store.ReplicaState()
	r.gauge("pryday_replica_configured", "1 where a replica is to be read from.", yes(state.Configured))
	r.gauge("pryday_replica_used", "1 while the replica is read from; else the primary answers everything.", yes(state.Used))
	r.gauge("pryday_replica_lag_seconds", "For how long the oldest of what the replica lacks has been there.", state.Lag.Seconds())
	const reads = "Snapshots read for pages, calendars and exports, by the server that gave them."
	r.counter("pryday_snapshots_total", reads, float64(state.PrimaryReads), "server", "primary")
	r.counter("pryday_snapshots_total", reads, float64(state.Reads), "server", "replica")
}
