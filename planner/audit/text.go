package audit

import (
	"fmt"
	"strings"
)

// String is the verdict in a line, then every rule with how often it was checked, then the findings.
func (r Report) String() string {
	var b strings.Builder
	fmt.Fprintln(&b, r.Verdict())
	for _, t := range r.Rules {
		word := "ok"
		switch {
		case t.Checked == 0:
			word = "-" // nothing in the plan that the rule is about
		case t.Found > 0:
			word = "FOUND"
		}
		fmt.Fprintf(&b, "  %-5s  %-12s %7d  %s\n", word, t.Rule, t.Checked, t.Rule.Says())
	}
	for _, f := range r.Findings {
		fmt.Fprintln(&b, f)
	}
	return b.String()
}

// Verdict is the outcome in a line.
func (r Report) Verdict() string {
	word := "holds"
	if !r.OK() {
		word = "does not hold"
	}
	return fmt.Sprintf("the plan %s: %d checks of %d rules, %d wrong, %d doubtful", word, r.Checked(), len(r.Rules), r.Count(Wrong), r.Count(Doubtful))
}

// String is the finding in a line, such as
// "wrong: hours: line L1, bucket 3 (2026-12-03): run, set-up and start-up hours: 24.5 h, allowed or computed 24 h".
func (f Finding) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s: %s", f.Severity, f.Rule, f.Place)
	if f.Bucket >= 0 {
		fmt.Fprintf(&b, ", bucket %d", f.Bucket)
	}
	if f.Day != 0 {
		fmt.Fprintf(&b, " (%s)", f.Day)
	}
	if f.Note != "" {
		b.WriteString(": " + f.Note)
	}
	if f.Unit != "" || f.Want != f.Have {
		fmt.Fprintf(&b, ": plan %.7g %s, allowed or computed %.7g %s", f.Have, f.Unit, f.Want, f.Unit)
	}
	return b.String()
}
