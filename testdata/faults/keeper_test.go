package faults

import (
	"bytes"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/google/uuid"

	"pryday/scheduler"
)

// keeper is somebody who has signed in with a browser.
type keeper struct {
	*house
	http *http.Client
}

func (h *house) signIn(address string) *keeper {
	h.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		h.Fatal(err)
	}
	k := &keeper{h, &http.Client{Jar: jar, Timeout: time.Minute, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	k.must(k.post("/sign-in", url.Values{"email": {address}}))
	k.must(k.post(h.mails.signInOf(h, address), nil))
	return k
}

func (k *keeper) must(acknowledged bool, err error) {
	k.Helper()
	if err != nil || !acknowledged {
		k.Fatalf("acknowledged %v, %v", acknowledged, err)
	}
}

func (k *keeper) post(path string, form url.Values) (acknowledged bool, err error) {
	res, err := k.http.PostForm(k.address+path, form)
	return k.answer(path, res, err)
}

// answer tells what was acknowledged from what must be sent again. An error is
// an answer that no user should get.
func (k *keeper) answer(path string, res *http.Response, err error) (bool, error) {
	if err != nil {
		return false, nil // nobody answered
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	switch {
	case err != nil, res.StatusCode == http.StatusServiceUnavailable, res.StatusCode == http.StatusTooManyRequests, res.StatusCode == http.StatusConflict:
		return false, nil
	case res.StatusCode == http.StatusOK, res.StatusCode == http.StatusSeeOther:
		return true, nil
	}
	return false, fmt.Errorf("POST %s: %s\n%.3000s", path, res.Status, body)
}

// again sends something until it is acknowledged, as phones and people do. Where
// it is not, between looks at what became of it before it is sent once more.
func (k *keeper) again(send func() (bool, error), between func()) {
	for {
		done, err := send()
		if err != nil {
			k.r.bad("%v", err)
			return
		}
		if done {
			return
		}
		k.r.resend()
		if between != nil {
			between()
		}
		time.Sleep(50 * time.Millisecond) // no signal comes of a service that is away
	}
}

type boxPlace struct{ Box, Hive int64 }

// recorder writes openings down, each of another box or day.
type recorder struct {
	*keeper
	club  string
	boxes []boxPlace
	next  atomic.Int64
	mu    sync.Mutex
	acked map[string]bool // notes
}

func (k *keeper) recorder(club string) *recorder {
	k.Helper()
	return &recorder{keeper: k, club: club, acked: map[string]bool{}, boxes: ask[boxPlace](k.house,
		`SELECT b.id, b.hive_id FROM box b JOIN club c ON c.id = b.club_id WHERE c.name = $1 AND b.hive_id IS NOT NULL ORDER BY b.id`, club)}
}

// form is a next opening, as the page of its hive sends it.
func (rec *recorder) form() (path, note string, form url.Values) {
	i := int(rec.next.Add(1)) - 1
	box, on := rec.boxes[i%len(rec.boxes)], today()-scheduler.Date(3+i/len(rec.boxes)) // whatever the clocks say, it is past
	note = fmt.Sprintf("opening %d", i)
	return fmt.Sprintf("/hive/%d/record", box.Hive), note, url.Values{
		"box": {strconv.FormatInt(box.Box, 10)}, "id": {uuid.NewString()}, "on": {on.String()}, "joint": {"1"}, "frames": {"1"},
		"scraped": {"all"}, "note": {note}, "sure": {"1"}, "late": {"1"},
	}
}

// record has an opening acknowledged, by each of those that send it at once.
func (rec *recorder) record(also ...*keeper) {
	path, note, form := rec.form()
	var all sync.WaitGroup
	for _, k := range append(also, rec.keeper) {
		all.Go(func() { k.again(func() (bool, error) { return k.post(path, form) }, nil) })
	}
	all.Wait()
	rec.mu.Lock()
	rec.acked[note] = true
	rec.mu.Unlock()
	rec.r.ack(1)
}

// bring uploads a document.
func (k *keeper) bring(file string) (bool, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return false, err
	}
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	part, err := w.CreateFormFile("file", "club.json")
	if err == nil {
		_, err = part.Write(data)
	}
	if err == nil {
		err = w.WriteField("do", "import")
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		return false, err
	}
	res, err := k.http.Post(k.address+"/records", w.FormDataContentType(), &body)
	return k.answer("/records", res, err)
}
