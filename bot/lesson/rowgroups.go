package lesson

import (
	"slices"
	"strconv"
	"strings"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// keyGroupsAnd: rows are said in two ways at once; the other argument's name.
const keyGroupsAnd calc.Key = "row.groups_and"

// otherwise are the arguments that say in another way what name says: which
// groups the rows have.
func otherwise(name string) []string {
	switch name {
	case "groups":
		return []string{"raised", "repeat", "design"}
	case "raised", "repeat":
		return []string{"groups", "design"}
	case "design":
		return []string{"raised", "repeat", "groups"}
	case "leftover", "edge":
		return []string{"design"}
	}
	return nil
}

// listedIn are the rows of groups that the arguments list.
func listedIn(a bot.Args) ([]lace.Groups, error) {
	for _, name := range otherwise("groups") {
		if a.Has(name) {
			return nil, &calc.Fault{Code: calc.Conflict, Key: keyGroupsAnd, Field: "groups", Args: []any{name}, Example: `groups:"3 3 6 | 6 3 3"`}
		}
	}
	return lace.ParseGroups(a.Text("groups"))
}

// groupsText writes rows of groups as they are read, the shortest way: like
// groups that follow each other as 4x3.
func groupsText(rows []lace.Groups) string {
	var b strings.Builder
	for i, row := range rows {
		if i > 0 {
			b.WriteString(" | ")
		}
		b.WriteString(strings.Join(groupWords(row), " "))
	}
	return b.String()
}

// groupWords are the groups of a row as they are written.
func groupWords(row []int) []string {
	var words []string
	for i := 0; i < len(row); {
		n := 1
		for i+n < len(row) && row[i+n] == row[i] {
			n++
		}
		size := strconv.Itoa(row[i])
		if n > 2 {
			words = append(words, strconv.Itoa(n)+"x"+size)
		} else {
			words = append(words, slices.Repeat([]string{size}, n)...)
		}
		i += n
	}
	return words
}

// groupsWritten is the argument groups in its plain form; what cannot be read
// stays as it was written.
func groupsWritten(a bot.Args) string {
	rows, err := lace.ParseGroups(a.Text("groups"))
	if err != nil {
		return bot.Written("groups", cleanLine(a.Text("groups"), bot.MaxLine))
	}
	return bot.Written("groups", groupsText(rows))
}
