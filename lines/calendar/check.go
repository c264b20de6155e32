package calendar

import "fmt"

// Problem is something wrong or doubtful about one field; its fields are those of quantity.Problem, to which it converts.
type Problem struct {
	Field, Value, Allowed, Remedy string
	Warning                       bool
}

// Check says what is wrong with a shift: no weekday, a start beyond its day, an end not behind the start, longer than a day.
func (s Shift) Check() []Problem {
	var list []Problem
	add := func(field, value, allowed, remedy string) {
		list = append(list, Problem{Field: field, Value: value, Allowed: allowed, Remedy: remedy})
	}
	if s.Weekdays == [7]bool{} {
		add("Weekdays", "none", "at least one day", "write mon-fri, or delete the shift")
	}
	if s.Start < 0 || s.Start >= day {
		add("Start", FormatClock(s.Start), "00:00 to before 24:00", "")
	}
	if length := s.End - s.Start; length <= 0 || length > day {
		add("End", FormatClock(s.End), "behind the start, at most 24 h", "split a longer shift")
	}
	return list
}

// Check says whether the closure is empty.
func (c Closure) Check() []Problem { return c.Span.check("Span") }

func (s Span) check(field string) []Problem {
	if s.To > s.From {
		return nil
	}
	return []Problem{{Field: field, Value: fmt.Sprintf("%v to %v", s.From, s.To), Allowed: "an end behind the start",
		Remedy: "the end is the first day after"}}
}

// Check says whether the outage names no machine or is empty.
func (o Outage) Check() []Problem {
	var list []Problem
	if o.Machine == "" {
		list = append(list, Problem{Field: "Machine", Value: `""`, Allowed: "the code of a line or a step"})
	}
	if !o.To.After(o.From) {
		list = append(list, Problem{Field: "To", Value: o.To.Format(localLayout), Allowed: "after " + o.From.Format(localLayout)})
	}
	return list
}
