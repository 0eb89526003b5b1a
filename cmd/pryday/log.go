package main

import (
	"fmt"
	"log/slog"
	"regexp"
)

// logFlags are the form in which the daemon logs.
type logFlags struct {
	Log string `enum:"text,json" default:"text" env:"PRYDAY_LOG" placeholder:"FORM" help:"The form of the log: text, or json, an object a line."`
}

// logger writes to the terminal's error stream.
func (t *terminal) logger(level slog.Level) *slog.Logger { return t.loggerIn("text", level) }

func (t *terminal) loggerIn(form string, level slog.Level) *slog.Logger {
	options := &slog.HandlerOptions{Level: level, ReplaceAttr: keepSecrets}
	if form == "json" {
		return slog.New(slog.NewJSONHandler(t.err, options))
	}
	return slog.New(slog.NewTextHandler(t.err, options))
}

// What must not stand in a log, wherever it comes from: mail servers and
// databases answer with addresses, and errors name what was asked for.
var (
	mailAddress  = regexp.MustCompile(`[^\s<>()\[\]"',;:=@/\\]+@[^\s<>()\[\]"',;:=@/\\]+`)
	credentials  = regexp.MustCompile(`(://)[^\s/@]+@`)
	secretInPath = regexp.MustCompile(`/(calendar|sign-in|act|new-address|old-address|unsubscribe|setup)/[A-Za-z0-9._~%=-]{16,}`)
)

// withoutSecrets leaves out mail addresses, passwords in addresses of servers,
// and what makes an address of ours a key.
func withoutSecrets(s string) string {
	s = credentials.ReplaceAllString(s, "$1...@")
	s = mailAddress.ReplaceAllStringFunc(s, func(found string) string {
		if found == "...@" || len(found) > 4 && found[:4] == "...@" {
			return found // a server, whose password was left out
		}
		return "(address)"
	})
	return secretInPath.ReplaceAllString(s, "/$1/...")
}

// keepSecrets takes out of every line what must not stand in it. Numbers, times
// and the like cannot hold any.
func keepSecrets(_ []string, a slog.Attr) slog.Attr {
	switch a.Value.Kind() {
	case slog.KindString:
		a.Value = slog.StringValue(withoutSecrets(a.Value.String()))
	case slog.KindAny:
		switch v := a.Value.Any().(type) {
		case slog.Level, *slog.Source:
		case error:
			a.Value = slog.StringValue(withoutSecrets(v.Error()))
		default:
			a.Value = slog.StringValue(withoutSecrets(fmt.Sprint(v)))
		}
	}
	return a
}
