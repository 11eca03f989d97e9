// Package paper draws what people look at: pictures for a chat and handouts to
// print.
//
// Everything is first a Sheet, a display list of lines, filled shapes and text
// in points. A Sheet comes from a drawing of this package, which is given
// numbers of package calc and the words to set beside them, or from the blocks
// of a bot.Reply. It goes out as PNG, for a chat, or as a page of a PDF, with
// the same geometry and, for the same Sheet, the same bytes every time.
//
// The package has no words of its own for people: whoever asks brings them.
package paper
