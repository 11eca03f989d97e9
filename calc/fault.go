// Package calc is the root of the textile arithmetic: it holds only what its
// children share, the kind of mistake that a person can mend.
//
// The children are pure: quantities in, quantities out, no clock, no chat, no
// file. They import the standard library and one another, nothing else of the
// project.
package calc

import "fmt"

// Code classes a mistake for scripts; the values are part of the
// machine-readable answers.
type Code string

// The classes of mistake that arithmetic and parsing can find.
const (
	BadValue   Code = "bad_value"    // the value cannot be read, or is of the wrong kind
	OutOfRange Code = "out_of_range" // readable, but outside what is allowed
	Conflict   Code = "conflict"     // two things said do not agree

	MissingArgument Code = "missing_argument" // something needed was not said
)

// Key names the sentence, kept with all other words shown to people, that
// explains a Fault.
type Key string

// Fault is a mistake of the asker. It carries what a sentence needs and no
// sentence of its own, so that the words stay in one place and can be
// translated.
type Fault struct {
	Code    Code
	Key     Key
	Field   string // the argument it concerns, as commands name it: "raised"
	Args    []any  // what the sentence speaks of, in the order of its verbs; quantities keep their type
	Example string // something right to write instead: "raised:3"
}

// Error is for logs and tests; people read the sentence of Key.
func (f *Fault) Error() string {
	return fmt.Sprintf("%s: %s %s %v (example %s)", f.Code, f.Field, f.Key, f.Args, f.Example)
}
