package mip

import (
	"container/heap"

	"feedline/planner/solve/lp"
)

// node is an open subproblem: the root box with the changes on the path to it.
type node struct {
	parent *node
	change boundChange // none at the root
	bound  float64     // proven for all solutions in it
	depth  int32
	seq    uint64    // order of creation, for ties
	basis  *lp.Basis // of the parent's optimum, shared with the sibling
	// What branching expects to learn here: the parent's value and the distance to the new bound.
	parentValue float64
	distance    float64
}

// boundChange is a branching decision. col −1 stands for none.
type boundChange struct {
	col   int32
	upper bool
	value float64
}

func (c boundChange) apply(d *domain) bool {
	switch {
	case c.col < 0:
		return true
	case c.upper:
		return d.setUpper(c.col, c.value)
	default:
		return d.setLower(c.col, c.value)
	}
}

// before orders nodes by bound, then depth (deeper first), then age.
func (n *node) before(o *node) bool {
	if n.bound != o.bound {
		return n.bound < o.bound
	}
	if n.depth != o.depth {
		return n.depth > o.depth
	}
	return n.seq < o.seq
}

// openNodes is a heap of nodes, the least bound on top.
type openNodes []*node

func (h openNodes) Len() int           { return len(h) }
func (h openNodes) Less(i, k int) bool { return h[i].before(h[k]) }
func (h openNodes) Swap(i, k int)      { h[i], h[k] = h[k], h[i] }
func (h *openNodes) Push(x any)        { *h = append(*h, x.(*node)) }
func (h *openNodes) Pop() any {
	old := *h
	n := old[len(old)-1]
	old[len(old)-1] = nil
	*h = old[:len(old)-1]
	return n
}

func (h *openNodes) push(n *node) { heap.Push(h, n) }
func (h *openNodes) pop() *node   { return heap.Pop(h).(*node) }
