package bot

import "weftroom/calc/measure"

// ArgsOf reads text as what someone wrote behind the command's name. A command
// that keeps a part of another one's arguments holds them right by it, and reads
// them again when they are used.
func (c *Command) ArgsOf(text string, units measure.Units) (Args, error) {
	words, err := split(text)
	if err != nil {
		return Args{}, c.openQuote(err)
	}
	given, err := c.assign(text, words)
	if err != nil {
		return Args{}, err
	}
	return c.read(given, units)
}
