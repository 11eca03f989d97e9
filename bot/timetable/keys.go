package timetable

import "weftroom/calc"

// Keys lists every key that this package can return.
var Keys = []calc.Key{}
