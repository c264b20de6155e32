package report

import (
	"encoding/json"
	"fmt"
	"io"

	"feedline/planner/audit"
)

// AuditSchema names the JSON of an audit. Fields are only ever added under the same number.
const AuditSchema = "feedline.audit/1"

// AuditText writes an audit: the verdict, every rule with how often it was checked, and the findings.
func AuditText(w io.Writer, r audit.Report) error {
	_, err := fmt.Fprint(w, cleanText(r.String()))
	return err
}

// cleanText is clean for text of several lines.
func cleanText(text string) string {
	out := make([]rune, 0, len(text))
	for _, c := range text {
		if c == '\n' || clean(string(c)) != "" {
			out = append(out, c)
		}
	}
	return string(out)
}

type auditDocument struct {
	Schema     string         `json:"schema"`
	OK         bool           `json:"ok"`
	Checked    int            `json:"checked"`
	Wrong      int            `json:"wrong"`
	Doubtful   int            `json:"doubtful"`
	Recosted   *float64       `json:"recosted_money"`
	Difference *float64       `json:"difference_money"`
	Rules      []auditRule    `json:"rules"`
	Findings   []auditFinding `json:"findings"`
}

type auditRule struct {
	Rule    string `json:"rule"`
	Says    string `json:"says"`
	Checked int    `json:"checked"`
	Found   int    `json:"found"`
}

type auditFinding struct {
	Rule     string   `json:"rule"`
	Severity string   `json:"severity"`
	Place    string   `json:"place"`
	Bucket   *int     `json:"bucket"`
	Day      *string  `json:"day"`
	Want     *float64 `json:"want"`
	Have     *float64 `json:"have"`
	Unit     string   `json:"unit"`
	Note     string   `json:"note"`
}

// AuditJSON writes an audit as one document of the schema described in SCHEMA.md.
func AuditJSON(w io.Writer, r audit.Report) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(auditDocument{AuditSchema, r.OK(), r.Checked(), r.Count(audit.Wrong), r.Count(audit.Doubtful), number(r.Recosted), number(r.Difference),
		list(r.Rules, func(t audit.Tally) auditRule { return auditRule{string(t.Rule), t.Rule.Says(), t.Checked, t.Found} }),
		list(r.Findings, findingOf)})
}

func findingOf(f audit.Finding) auditFinding {
	x := auditFinding{Rule: string(f.Rule), Severity: f.Severity.String(), Place: f.Place, Day: day(f.Day), Unit: f.Unit, Note: f.Note}
	if f.Bucket >= 0 {
		x.Bucket = &f.Bucket
	}
	if f.Unit != "" || f.Want != f.Have {
		x.Want, x.Have = number(f.Want), number(f.Have)
	}
	return x
}
