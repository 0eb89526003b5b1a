package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"time"

	"pryday/testdata/testrun/demo"
)

// visitor is an organiser who reads pages and records hives, and everybody's
// calendar program.
type visitor struct {
	client   *http.Client
	origin   string
	calendar string
	tag      string // of the calendar as it was read last
	hives    []string
	today    time.Time // of the demo's story
	asked    int
	recorded int
}

var hivePath = regexp.MustCompile(`/hive/[0-9]+`)

// read are the pages that are read in turn, beside those of hives.
var read = []string{"/", "/month", "/apiaries", "/map", "/find?q=1", "/repairs", "/year", "/messages"}

func newVisitor(ctx context.Context, d *demo.Demo) (*visitor, error) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, err
	}
	at, err := url.Parse(d.SignIn)
	if err != nil {
		return nil, fmt.Errorf("the sign-in address: %w", err)
	}
	v := &visitor{client: &http.Client{Jar: jar}, origin: at.Scheme + "://" + at.Host, calendar: d.Calendar}
	if _, _, err := v.ask(ctx, http.MethodPost, at.Path, "", nil); err != nil {
		return nil, err
	}
	apiaries, _, err := v.ask(ctx, http.MethodGet, "/apiaries", "", nil)
	if err != nil {
		return nil, err
	}
	seen := map[string]bool{}
	for _, path := range regexp.MustCompile(`/apiary/[0-9]+`).FindAllString(apiaries, -1) {
		page, _, err := v.ask(ctx, http.MethodGet, path, "", nil)
		if err != nil {
			return nil, err
		}
		for _, hive := range hivePath.FindAllString(page, -1) {
			if !seen[hive] {
				seen[hive] = true
				v.hives = append(v.hives, hive)
			}
		}
	}
	if len(v.hives) == 0 {
		return nil, errors.New("no hives on the pages of apiaries")
	}
	day := regexp.MustCompile(`data-today="([0-9-]+)"`).FindStringSubmatch(apiaries)
	if day == nil {
		return nil, errors.New("the pages do not say which day it is")
	}
	v.today, err = time.Parse(time.DateOnly, day[1])
	return v, err
}

// next makes the nth request: every two seconds the calendar, a page or a hive
// else, and every fifteen seconds a hive is recorded.
func (v *visitor) next(ctx context.Context, n int) error {
	switch {
	case n%75 == 74:
		return v.record(ctx, v.hives[n/75%len(v.hives)], n/75/len(v.hives))
	case n%10 == 0:
		return v.poll(ctx)
	case n%2 == 0:
		_, _, err := v.ask(ctx, http.MethodGet, v.hives[n/2%len(v.hives)], "", nil)
		return err
	default:
		_, _, err := v.ask(ctx, http.MethodGet, read[n/2%len(read)], "", nil)
		return err
	}
}

func (v *visitor) poll(ctx context.Context) error {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, v.calendar, nil)
	if err != nil {
		return err
	}
	if v.tag != "" {
		r.Header.Set("If-None-Match", v.tag)
	}
	_, header, err := v.do(r)
	if err == nil {
		v.tag = header.Get("ETag")
	}
	return err
}

var hidden = regexp.MustCompile(`<input type="hidden" name="([a-z-]+)" value="([^"]*)">`)

// record says of a whole hive that it came apart without trouble some days ago,
// unless something is written down of that day.
func (v *visitor) record(ctx context.Context, hive string, daysAgo int) error {
	on := v.today.AddDate(0, 0, -daysAgo).Format(time.DateOnly)
	page, _, err := v.ask(ctx, http.MethodGet, hive+"/record?on="+on, "", nil)
	if err != nil {
		return err
	}
	if !strings.Contains(page, `name="base"`) {
		return nil
	}
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for _, f := range append(hidden.FindAllStringSubmatch(page, -1), []string{"", "whole", "yes"}) {
		if err := form.WriteField(f[1], f[2]); err != nil {
			return err
		}
	}
	if err := form.Close(); err != nil {
		return err
	}
	_, _, err = v.ask(ctx, http.MethodPost, hive+"/record", form.FormDataContentType(), &body)
	v.recorded++
	return err
}

func (v *visitor) ask(ctx context.Context, method, path, kind string, body io.Reader) (string, http.Header, error) {
	r, err := http.NewRequestWithContext(ctx, method, v.origin+path, body)
	if err != nil {
		return "", nil, err
	}
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	return v.do(r)
}

func (v *visitor) do(r *http.Request) (string, http.Header, error) {
	v.asked++
	w, err := v.client.Do(r)
	if err != nil {
		return "", nil, err
	}
	defer w.Body.Close()
	body, err := io.ReadAll(w.Body)
	if err == nil && w.StatusCode != http.StatusOK && w.StatusCode != http.StatusNotModified {
		err = fmt.Errorf("%s %s: answer %d\n%.300s", r.Method, r.URL.Path, w.StatusCode, body)
	}
	return string(body), w.Header, err
}
