package lace

import (
	"cmp"
	"slices"
)

// Option is one answer to "what fits my warp": groups of Raised, what is left
// over and where it is best put.
type Option struct {
	Raised    int      // raised ends per group
	Groups    int      // how many
	Leftover  int      // pairs of ends that fill no group
	Placement Leftover // None, Far or Both
	Sizes     []int    // pairs of ends in each group, from the side where the work starts; an end over is not counted
	Symmetric bool     // Sizes reads the same from either side

	// ExactBelow and ExactAbove are the nearest numbers of ends, down and up,
	// that hold whole groups only; both are the ends asked about when those do.
	// ExactAbove may lie above MaxEnds.
	ExactBelow, ExactAbove int
}

// The sizes that Fit tries when none is asked for, and how many groups make a
// row worth the name.
const (
	fitFrom      = 2
	fitThrough   = 8
	fitMinGroups = 3
	usualRaised  = 3 // common practice, no source
)

// Fit lists the groups that suit a warp of ends, MinEnds to MaxEnds. With raised
// 0 it tries 2 to 8 and keeps those that come out at three groups or more, which
// below 12 ends is none; any other raised is answered alone, if the warp holds
// one such group. A leftover of one pair goes to the far group, a larger one is
// shared between both sides as evenly as pairs can be.
//
// Best first: nothing left over; then symmetric; then the smaller leftover, as
// a part of a group; then the nearer to 3 raised; then the smaller group.
//
// The error is a *calc.Fault about ends or raised.
func Fit(ends, raised int) ([]Option, error) {
	if fault := checkEnds(ends); fault != nil {
		return nil, fault
	}
	if raised != 0 {
		if fault := checkRaised(raised, ends); fault != nil {
			return nil, fault
		}
		return []Option{fit(ends, raised)}, nil
	}
	options := []Option{}
	for raised := fitFrom; raised <= fitThrough; raised++ {
		if option := fit(ends, raised); option.Groups >= fitMinGroups {
			options = append(options, option)
		}
	}
	slices.SortStableFunc(options, betterFit)
	return options, nil
}

func fit(ends, raised int) Option {
	pairs, group := ends/2, 2*raised
	o := Option{
		Raised:     raised,
		Groups:     pairs / raised,
		Leftover:   pairs % raised,
		ExactBelow: ends / group * group,
		ExactAbove: (ends + group - 1) / group * group,
	}
	if o.Groups == 0 {
		return o
	}
	o.Placement = place(o.Leftover)
	o.Sizes = straightGroups(pairs, raised, o.Placement)
	o.Symmetric = slices.Equal(o.Sizes, reversed(o.Sizes))
	return o
}

func place(over int) Leftover {
	switch over {
	case 0:
		return None
	case 1:
		return Far
	default:
		return Both
	}
}

func betterFit(a, b Option) int {
	return cmp.Or(
		trueFirst(a.Leftover == 0, b.Leftover == 0),
		trueFirst(a.Symmetric, b.Symmetric),
		cmp.Compare(a.Leftover*b.Raised, b.Leftover*a.Raised), // a.Leftover/a.Raised against b's
		cmp.Compare(fromUsual(a), fromUsual(b)),
	)
}

func trueFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	default:
		return 1
	}
}

func fromUsual(o Option) int { return max(o.Raised-usualRaised, usualRaised-o.Raised) }
