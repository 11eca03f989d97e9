package bot

import (
	"context"
	"fmt"
	"strings"
	"unicode"
)

// longestBegun is the most bytes of a value that are completed.
const longestBegun = 120

// Suggest implements Suggester. It does not wait for earlier requests of the
// same person, for she is still writing; what goes wrong is logged and gives
// nothing.
func (d *Dispatcher) Suggest(ctx context.Context, r Request, command, param, begun string, most int) (values []string) {
	defer func() {
		if p := recover(); p != nil {
			values = d.noneToSuggest(command, param, fmt.Errorf("panic: %v", p))
		}
	}()
	if len(begun) > longestBegun || checkText(begun) != nil {
		return nil
	}
	c := found(d.commands, command)
	if c == nil || c.param(param) == nil {
		return nil
	}
	asker, err := d.people.Asker(ctx, r)
	if err != nil {
		return d.noneToSuggest(command, param, err)
	}
	if r.Role = max(r.Role, asker.Role); r.Role < c.least() {
		return nil
	}
	p := c.param(param)
	all := p.Choices
	if p.Suggest != nil {
		if all, err = p.Suggest(ctx, r); err != nil {
			return d.noneToSuggest(command, param, err)
		}
	}
	return completions(all, begun, most)
}

func (d *Dispatcher) noneToSuggest(command, param string, err error) []string {
	d.log.Error("nothing could be suggested", "command", command, "argument", param, "err", err)
	return nil
}

// completions are the values that begin as was written, then those in which it
// stands, at most most of both; only where there are none of either those that
// are spelt nearly so. A digit or two stand in too many values to mean one.
func completions(all []string, begun string, most int) []string {
	begun = strings.ToLower(strings.TrimSpace(begun))
	telling := len(begun) > 2 || strings.ContainsFunc(begun, unicode.IsLetter)
	var first, within, others []string
	seen := map[string]bool{}
	for _, v := range all {
		low := strings.ToLower(v)
		switch {
		case seen[low]:
		case strings.HasPrefix(low, begun):
			first = append(first, v)
		case telling && strings.Contains(low, begun):
			within = append(within, v)
		default:
			others = append(others, v)
		}
		seen[low] = true
	}
	found := append(first, within...)
	if len(found) == 0 {
		return Nearest(begun, others, most)
	}
	return found[:min(len(found), max(most, 0))]
}

var _ Suggester = (*Dispatcher)(nil)
