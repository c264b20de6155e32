package console

import "feedline/cmd/internal/console/rows"

// stack shares the rows of a screen among panes. A table that has no room for more shows its title alone, and its rows once it has
// the keyboard; of panes that do not even have room for that, the one with the highest rank goes first. focus is the pane with the
// keyboard: it is never left out, and is served before the others.
func stack(panes []rows.Pane, focus, height int) []int {
	got := make([]int, len(panes))
	out := make([]bool, len(panes))
	least := func(i int) int {
		switch {
		case panes[i].Table == nil:
			return 0 // a text is there in full or not at all
		case i == focus:
			return 3
		}
		return 1
	}
	for {
		sum, worst := 0, -1
		for i, p := range panes {
			if out[i] {
				continue
			}
			sum += least(i)
			if i != focus && least(i) > 0 && (worst < 0 || p.Rank >= panes[worst].Rank) {
				worst = i
			}
		}
		if sum <= height || worst < 0 {
			break
		}
		out[worst] = true
	}
	left := height
	for i := range panes {
		if !out[i] {
			got[i] = min(least(i), left)
			left -= got[i]
		}
	}
	raise := func(i, to int) {
		if out[i] || to <= got[i] {
			return
		}
		if panes[i].Table == nil && got[i] == 0 && left < panes[i].Least {
			return
		}
		more := min(to-got[i], left)
		got[i], left = got[i]+more, left-more
	}
	order := byRank(panes)
	if focus >= 0 && focus < len(panes) {
		raise(focus, min(wanted(panes[focus]), max(3, height*2/3)))
	}
	for _, i := range order {
		raise(i, min(panes[i].Least, wanted(panes[i])))
	}
	if focus >= 0 && focus < len(panes) {
		raise(focus, wanted(panes[focus]))
	}
	for _, i := range order {
		raise(i, wanted(panes[i]))
	}
	for _, i := range order { // a heading without a row says nothing
		if panes[i].Table != nil && got[i] == 2 && len(panes[i].Table.Rows) > 0 {
			got[i], left = 1, left+1
		}
	}
	for _, i := range order {
		if got[i] > 2 || panes[i].Table == nil && got[i] > 0 {
			raise(i, wanted(panes[i]))
		}
	}
	return got
}

// wanted is the rows that a pane makes use of: a table's title, heading and rows.
func wanted(p rows.Pane) int {
	switch {
	case p.Table == nil:
		return max(p.Want, p.Least)
	case p.Want > 0:
		return p.Want
	}
	if len(p.Table.Rows) == 0 {
		return 2
	}
	return 2 + len(p.Table.Rows)
}

// byRank is the panes' indexes, those that stay first.
func byRank(panes []rows.Pane) []int {
	var order []int
	for rank := 0; len(order) < len(panes) && rank < 100; rank++ {
		for i, p := range panes {
			if p.Rank == rank {
				order = append(order, i)
			}
		}
	}
	return order
}
