package timetable

import (
	"regexp"
	"sync"
)

// pattern is a regular expression that is compiled when it is first needed: a
// program that is started for one answer seldom reads a date.
type pattern struct{ get func() *regexp.Regexp }

func compiled(expr string) pattern {
	return pattern{sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expr) })}
}

func (p pattern) MatchString(s string) bool            { return p.get().MatchString(s) }
func (p pattern) FindStringSubmatch(s string) []string { return p.get().FindStringSubmatch(s) }
