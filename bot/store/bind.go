package store

import (
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/measure"
)

// bind turns arguments into what both databases take: texts and whole numbers.
func bind(args []any) []any {
	out := make([]any, len(args))
	for i, a := range args {
		out[i] = bindOne(a)
	}
	return out
}

func bindOne(a any) any {
	switch v := a.(type) {
	case string:
		return clean(v)
	case class.ID:
		return clean(string(v))
	case bool:
		if v {
			return int64(1)
		}
		return int64(0)
	case int:
		return int64(v)
	case measure.Units:
		return int64(v)
	case bot.Role:
		return int64(v)
	case time.Time:
		return millis(v)
	}
	return a
}

// clean takes from a text what PostgreSQL cannot keep, on SQLite too, so that
// both keep the same.
func clean(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "")
}

// millis is an instant as it is kept, 0 for the zero Time.
func millis(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

// when reads an instant into t.
func when(t *time.Time) *instant { return (*instant)(t) }

type instant time.Time

// Scan implements sql.Scanner.
func (i *instant) Scan(src any) error {
	ms, err := asInt(src)
	if err != nil || ms == 0 {
		*i = instant{}
		return err
	}
	*i = instant(time.UnixMilli(ms).UTC())
	return nil
}

// kept is an instant as it comes back.
func kept(t time.Time) time.Time {
	if t.IsZero() {
		return time.Time{}
	}
	return t.UTC().Truncate(time.Millisecond)
}
