package planner

import (
	"slices"

	"feedline/lines"
)

// LineBegin is a line that runs or is ready, as a plan begins with it.
type LineBegin struct {
	Line    string
	Mounted string // profile whose die is on it; "" if none
	Running bool   // else ready
}

func begins(in *Input) (list []LineBegin) {
	for _, ln := range in.Lines {
		if ln.State == lines.Running || ln.State == lines.Ready {
			list = append(list, LineBegin{ln.Code, ln.Mounted, ln.State == lines.Running})
		}
	}
	return list
}

// AsBegun is in with its lines as p begins with them, for what is asked of p after runs were recorded, which leave other dies on the lines
// than the plan starts from. A line that is down or not set up by now, or was then, stays as in has it. in is not changed.
func (p *Plan) AsBegun(in *Input) *Input {
	out := *in
	out.Lines = slices.Clone(in.Lines)
	for i := range out.Lines {
		ln := &out.Lines[i]
		k := slices.IndexFunc(p.Begins, func(b LineBegin) bool { return b.Line == ln.Code })
		if k < 0 || ln.State != lines.Running && ln.State != lines.Ready {
			continue
		}
		ln.Mounted, ln.State = p.Begins[k].Mounted, lines.Ready
		if p.Begins[k].Running {
			ln.State = lines.Running
		}
	}
	return &out
}
