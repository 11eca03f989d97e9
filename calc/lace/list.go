package lace

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"weftroom/calc"
)

// The bounds of a list of groups as a person writes it.
const (
	MaxListRows   = MaxRows
	MaxListGroups = MaxEnds / 2 // in one row
)

// Sentences about lists of groups. Counts in Args are ints.
const (
	// KeyListSign: the sign that is none of a list, as text.
	KeyListSign calc.Key = "lace.list_sign"
	// KeyListEmpty: the number of the row that has no groups, from 1.
	KeyListEmpty calc.Key = "lace.list_empty"
	// KeyListLong: the rows given and the most, the groups of the longest row and the most.
	KeyListLong calc.Key = "lace.list_long"
	// KeyListGroup: the number of the row, that of the group, its raised ends, the fewest, the most.
	KeyListGroup calc.Key = "lace.list_group"
	// KeyListWide: the number of the row, the raised ends that it needs, those
	// that the warp has between its edges, the ends that would do, the ends of the warp.
	KeyListWide calc.Key = "lace.list_wide"
)

// ParseGroups reads rows of groups as a teacher writes them: raised ends per
// group between blanks or commas, rows between bars or slashes or on lines of their
// own, the first woven row first, as in "3 3 6 | 6 3 3". "4x3" is four groups of
// three. A bar that ends or begins a line, lines with nothing on them and the
// backticks that fence a code block are passed over. The error is a *calc.Fault
// about the argument groups.
func ParseGroups(text string) ([]Groups, error) {
	var rows []Groups
	for line := range strings.Lines(text) {
		line = strings.TrimFunc(line, func(r rune) bool { return betweenRows(r) || betweenGroups(r) })
		if line == "" {
			continue
		}
		for part := range strings.SplitSeq(strings.ReplaceAll(line, "/", "|"), "|") {
			row, fault := parseGroups(part)
			switch {
			case fault != nil:
				return nil, fault
			case len(row) == 0:
				return nil, listFault(calc.BadValue, KeyListEmpty, len(rows)+1)
			case len(rows) == MaxListRows:
				return nil, listFault(calc.OutOfRange, KeyListLong, len(rows)+1, MaxListRows, len(row), MaxListGroups)
			}
			rows = append(rows, row)
		}
	}
	if len(rows) == 0 {
		return nil, listFault(calc.BadValue, KeyListEmpty, 1)
	}
	return rows, nil
}

func betweenRows(r rune) bool { return r == '|' || r == '/' }

func betweenGroups(r rune) bool { return r == ',' || r == '`' || unicode.IsSpace(r) }

func parseGroups(text string) (Groups, *calc.Fault) {
	var row Groups
	for _, word := range strings.FieldsFunc(text, betweenGroups) {
		times, size := 1, word
		if before, after, ok := strings.Cut(strings.ToLower(strings.ReplaceAll(word, "×", "x")), "x"); ok {
			size = after
			if times = small(before); times < 1 {
				return nil, listFault(calc.BadValue, KeyListSign, word)
			}
		}
		n := small(size)
		if n < 0 {
			return nil, listFault(calc.BadValue, KeyListSign, word)
		}
		if len(row)+times > MaxListGroups {
			return nil, listFault(calc.OutOfRange, KeyListLong, 1, MaxListRows, len(row)+times, MaxListGroups)
		}
		row = append(row, slices.Repeat(Groups{n}, times)...)
	}
	return row, nil
}

// small reads a count of at most MaxEnds; -1 is none.
func small(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > MaxEnds || strings.HasPrefix(text, "+") {
		return -1
	}
	return n
}

func listFault(code calc.Code, key calc.Key, args ...any) *calc.Fault {
	return &calc.Fault{Code: code, Key: key, Field: "groups", Args: args, Example: `groups:"3 3 6 | 6 3 3"`}
}

// checkListed holds what a teacher lists to the warp: whole groups of two pairs or
// more, and room for each row at least once.
func (p Pattern) checkListed() *calc.Fault {
	pairs := p.innerPairs()
	for i, row := range p.Listed {
		if len(row) == 0 {
			return listFault(calc.BadValue, KeyListEmpty, i+1)
		}
		needs := 0
		for j, g := range row {
			if g < MinRaised || g > MaxEnds/2 {
				return listFault(calc.OutOfRange, KeyListGroup, i+1, j+1, g, MinRaised, MaxEnds/2)
			}
			needs += g
		}
		if needs > pairs {
			ends := 2*needs + 4*p.Edge + p.Ends%2
			fault := listFault(calc.Conflict, KeyListWide, i+1, needs, pairs, ends, p.Ends)
			fault.Example = example("ends", ends)
			return fault
		}
	}
	return nil
}

// RowsOnce is how many rows it takes to weave each listed row once; 1, or 2 when
// two-way, where none is listed.
func (p Pattern) RowsOnce() int {
	return max(len(p.Listed), 1) * p.Way.journeys()
}

// listedGroups lays every listed row out on the warp.
func (p Pattern) listedGroups() []Groups {
	var laid []Groups
	for _, listed := range p.Listed {
		laid = append(laid, acrossWarp(listed, p.innerPairs(), p.Leftover))
	}
	return laid
}

// acrossWarp repeats a listed row over pairs, which hold it at least once. Far
// begins it at the starting side and goes on as far as whole groups fit; Both
// puts as many whole repeats as fit in the middle, and to either side of them the
// groups that come before and after. What fills no group is added to the
// outermost, so that a list of one group is laid out as a Pattern is.
func acrossWarp(listed Groups, pairs int, leftover Leftover) Groups {
	if leftover != Both {
		return filled(listed, pairs)
	}
	whole := 0
	for _, g := range listed {
		whole += g
	}
	over := pairs % whole
	before := reversed(filled(reversed(listed), over/2))
	after := filled(listed, over-over/2)
	middle := slices.Repeat(listed, pairs/whole)
	if len(before) > 0 && before[0] < listed[len(listed)-1] && len(before) == 1 {
		middle[0] += before[0]
		before = nil
	}
	if len(after) == 1 && after[0] < listed[0] {
		middle[len(middle)-1] += after[0]
		after = nil
	}
	return slices.Concat(before, middle, after)
}

// filled lays groups out over pairs from the start, over and over, and adds what
// fills none to the last; less than the first group is a group by itself.
func filled(listed Groups, pairs int) Groups {
	var row Groups
	for i := 0; pairs > 0; i++ {
		g := listed[i%len(listed)]
		if g > pairs {
			if len(row) == 0 {
				return Groups{pairs}
			}
			row[len(row)-1] += pairs
			break
		}
		row = append(row, g)
		pairs -= g
	}
	return row
}
