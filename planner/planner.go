// Package planner makes extrusion plans: Input → formulation → Plan.
package planner

import (
	"context"
	"time"

	"feedline/lines/calendar"
	"feedline/planner/solve"
)

// Options steer a plan. The zero value plans with the book's own horizon until the default limits.
type Options struct {
	Now       time.Time     // clock value to stamp the plan with; its date in the plant's zone is the start unless Start is given
	Start     calendar.Day  // first day of the plan; 0 = Now's date
	Weeks     int           // horizon; 0 = the plant's, else 26
	DailyDays int           // daily part; 0 = the plant's, else 14
	Time      time.Duration // limit; 0 = 30 s
	Work      int64         // limit in the solver's work units; 0 = none. With it and no Time the result does not depend on the machine.
	Gap       float64       // stop at this relative gap; 0 = 0.001
	Workers   int
	Seed      uint64
	Progress  func(solve.Progress)
}

// Make plans. It returns an error only for an Input that Check refuses or a cancelled context before any plan is held;
// shortage and lateness are outcomes, never an error.
func Make(ctx context.Context, in *Input, opt Options) (*Plan, error) { panic("to be written") }
