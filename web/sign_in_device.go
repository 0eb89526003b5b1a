package web

import (
	"net/http"

	"github.com/mileusna/useragent"

	"pryday/scheduler/text"
	"pryday/store"
)

// device is what a request says of where it comes from. Programs may say what
// they like: it is shown, and decides nothing.
func (s *Server) device(r *http.Request) store.Device {
	says := r.UserAgent()
	ua := useragent.Parse(says[:min(len(says), 500)])
	d := store.Device{Browser: ua.Name, System: ua.OS, Source: s.cfg.Proxies.Source(r)}
	if ua.Device != "" && ua.IsIOS() { // "iPhone" and "iPad" say more than "iOS"
		d.System = ua.Device
	}
	return d
}

// deviceNames is how a device is kept with a passkey.
func deviceNames(d store.Device) string {
	if d.Browser == "" || d.System == "" {
		return d.Browser + d.System
	}
	return d.Browser + "/" + d.System
}

// deviceText says a device in words.
func deviceText(browser, system string) text.Text {
	switch {
	case browser == "" && system == "":
		return text.New("page.sign-ins.some-device")
	case browser == "" || system == "":
		return text.New("page.sign-ins.device-only", browser+system)
	}
	return text.New("page.sign-ins.device", browser, system)
}
