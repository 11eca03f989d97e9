package main

import (
	"io"
	"log/slog"
	"regexp"
	"strings"
	"sync"
)

// newLog is the log of this process: one line an event, with the id of the
// request or post that it is about. What people write, their names, links and
// tokens have no place in it, and no code puts them there; since a library's
// error may quote an address that it was given, what looks like one is cut, and
// of a panic nothing is shown but what the Go runtime itself says.
func newLog(to io.Writer, level slog.Level) *slog.Logger {
	return slog.New(slog.NewTextHandler(to, &slog.HandlerOptions{Level: level, ReplaceAttr: harmless}))
}

func harmless(_ []string, a slog.Attr) slog.Attr {
	if a.Key == slog.TimeKey || a.Key == slog.LevelKey || a.Key == slog.MessageKey {
		return a
	}
	var text string
	switch v := a.Value.Resolve(); v.Kind() {
	case slog.KindString:
		text = v.String()
	case slog.KindAny:
		err, ok := v.Any().(error)
		if !ok {
			return a
		}
		text = err.Error()
	default:
		return a
	}
	if a.Key == "panic" && !strings.HasPrefix(text, "runtime error: ") {
		text = "not shown; see the stack"
	}
	return slog.String(a.Key, withoutAddresses(text))
}

var address = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\b([A-Za-z][A-Za-z0-9+.-]*://)[^\s"'<>]+`) })

// withoutAddresses cuts the addresses in a text down to their scheme.
func withoutAddresses(text string) string {
	if !strings.Contains(text, "://") {
		return text
	}
	return address().ReplaceAllString(text, "$1…")
}
