package audit

import (
	"testing"
)

func TestTinyPlanHolds(t *testing.T) {
	r := Plan(tinyBook(), tinyPlan())
	t.Log(r)
	if !r.OK() || len(r.Findings) > 0 {
		t.Fatal("the hand-made plan is right, and the audit finds something")
	}
	for _, x := range r.Rules {
		if x.Checked == 0 {
			t.Errorf("rule %s was not checked", x.Rule)
		}
	}
}
