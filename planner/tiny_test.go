package planner_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"feedline/planner"
	"feedline/planner/benchplant"
)

// TestNoTimeIsTimeForAPlan gives bench plant S a millisecond: a first plan is made all the same, and told that time was short. One that is
// stopped by its user ends without.
func TestNoTimeIsTimeForAPlan(t *testing.T) {
	in, opt := benchplant.Input(benchplant.S, 1), benchplant.Options()
	opt.Time, opt.Brief = time.Millisecond, true
	audited(t, in, opt)
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, err := planner.Make(stopped, in, opt); !errors.Is(err, planner.ErrStopped) {
		t.Errorf("stopped at once: %v, want ErrStopped", err)
	}
}
