//go:build unix

package planner_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"feedline/lines"
	"feedline/planner"
	"feedline/planner/audit"
	"feedline/planner/benchplant"
	"feedline/planner/solve"
	"feedline/planner/solve/peer"
)

// TestBenchPlants plans plants of planner/benchplant and lets CBC and SciPy's HiGHS solve the same models, written as MPS, in the
// same run. It runs when FEEDLINE_COMPARE is 1 and prints cost, bound, gap and processor time side by side. Options, in the environment:
//
//	SIZES   S, M, L or XL, separated by commas; S,M by default
//	SEEDS   numbers, separated by commas; 1 by default
//	WORK    limit of our search in millions of work units; by default that of two quiet cores in 5, 60, 60 and 300 s
//	CLOCK   1 limits our search by the clock instead, to 5, 60, 60 and 300 s
//	PEERS   wall-clock limit of each peer, 600s by default; 0 leaves them out
//	CURVE   1 prints each better plan and bound
//
//	FEEDLINE_COMPARE=1 SIZES=S,M,L PEERS=600s go test ./planner -run TestBenchPlants -v -timeout 0
func TestBenchPlants(t *testing.T) {
	if os.Getenv("FEEDLINE_COMPARE") != "1" {
		t.Skip("set FEEDLINE_COMPARE=1 to measure")
	}
	for _, name := range strings.Split(env("SIZES", "S,M"), ",") {
		for _, seed := range strings.Split(env("SEEDS", "1"), ",") {
			n, err := strconv.ParseUint(seed, 10, 64)
			if err != nil {
				t.Fatalf("SEEDS: %v", err)
			}
			benchOne(t, sizeOf(t, name), n)
		}
	}
}

func env(name, otherwise string) string {
	if v := os.Getenv(name); v != "" {
		return v
	}
	return otherwise
}

// aims are the seconds on two quiet cores within which each size should be planned.
var aims = map[string]float64{"S": 5, "M": 60, "L": 60, "XL": 300}

// workASecond is what a processor did in a second where the aims were set; two of them do 1.8 times as much.
const workASecond = 150e6

func sizeOf(t *testing.T, name string) benchplant.Size {
	for _, s := range benchplant.Sizes {
		if s.Name == name {
			return s
		}
	}
	t.Fatalf("SIZES: %q, allowed: S, M, L, XL", name)
	return benchplant.Size{}
}

func benchOne(t *testing.T, size benchplant.Size, seed uint64) {
	in, opt := benchplant.Input(size, seed), benchplant.Options()
	opt.Work, opt.Gap = int64(workASecond*1.8*aims[size.Name]), 1e-4
	if v := os.Getenv("WORK"); v != "" {
		millions, err := strconv.ParseFloat(v, 64)
		if err != nil {
			t.Fatalf("WORK: %v", err)
		}
		opt.Work = int64(millions * 1e6)
	}
	if os.Getenv("CLOCK") == "1" {
		opt.Work, opt.Time = 0, time.Duration(aims[size.Name]*float64(time.Second))
	}
	clock := time.Now()
	began, last := cpuSeconds(syscall.RUSAGE_SELF), ""
	if os.Getenv("CURVE") == "1" {
		opt.Progress = func(p solve.Progress) {
			line := fmt.Sprintf("%.0f %.0f", p.Objective, p.Bound)
			if line == last {
				return
			}
			last = line
			t.Logf("  %7.1f s, %5.1f by the clock  %-13s cost %12.0f  bound %12.0f  gap %6.2f %%", cpuSeconds(syscall.RUSAGE_SELF)-began, time.Since(clock).Seconds(), p.Phase, p.Objective, p.Bound, 100*solve.Gap(p.Has, p.Objective, p.Bound))
		}
	}
	p, err := planner.Make(context.Background(), in, opt)
	if err != nil {
		t.Fatal(err)
	}
	if rep := audit.Plan(in, p); !rep.OK() {
		t.Errorf("%s %d: the audit found the plan wrong:\n%s", size.Name, seed, rep)
	}
	took := time.Since(clock)
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	t.Logf("%s %d: %d rows, %d columns, %d whole numbers", size.Name, seed, p.Size.Rows, p.Size.Cols, p.Size.Integers)
	t.Logf("%-8s cost %12.0f  bound %12.0f  gap %6.2f %%  %7.1f s of processor, %.1f s by the clock, %.0f MB from the system; %s", "ours", p.Objective, p.Bound, 100*p.Gap,
		cpuSeconds(syscall.RUSAGE_SELF)-began, took.Seconds(), float64(memory.Sys)/1e6, p.Stop)
	benchPeers(t, in)
}

// TestBenchWhatIfs plans a plant, then changes one thing at a time, a line down, a delivery lost, an order more, and plans again from the plan: it
// prints the processor time of each and the median, and cost and gap beside those of the plan that it starts from. Options as for
// TestBenchPlants; WORK is that of the first plan, and what-ifs have WHATIF millions, 100 by default.
func TestBenchWhatIfs(t *testing.T) {
	if os.Getenv("FEEDLINE_COMPARE") != "1" {
		t.Skip("set FEEDLINE_COMPARE=1 to measure")
	}
	millions := func(name, otherwise string) int64 {
		m, err := strconv.ParseFloat(env(name, otherwise), 64)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return int64(m * 1e6)
	}
	for _, name := range strings.Split(env("SIZES", "L"), ",") {
		size := sizeOf(t, name)
		opt := benchplant.Options()
		opt.Work, opt.Gap, opt.Brief = millions("WORK", "3000"), 1e-4, true
		base, err := planner.Make(context.Background(), benchplant.Input(size, 1), opt)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: cost %.0f  gap %.2f %%, bases of %d bytes", name, base.Objective, 100*base.Gap, len(base.Warm))
		opt.Work, opt.From = millions("WHATIF", "100"), base
		var cpu, wall []float64
		for i := range 12 {
			in, what := benchplant.Input(size, 1), ""
			switch n := i / 3; i % 3 {
			case 0:
				ln := &in.Lines[n%len(in.Lines)]
				ln.State, ln.DownUntil, ln.Mounted = lines.Down, benchplant.Start+14, ""
				what = "line " + ln.Code + " down"
			case 1:
				what = "delivery " + in.Deliveries[3*n].Code + " lost"
				in.Deliveries = slices.Delete(in.Deliveries, 3*n, 3*n+1)
			case 2:
				o := in.Orders[7*n]
				o.Code, o.Due = "NEW", o.Due+10
				in.Orders = append(in.Orders, o)
				what = "an order more for " + o.Profile
			}
			began, clock := cpuSeconds(syscall.RUSAGE_SELF), time.Now()
			p, err := planner.Make(context.Background(), in, opt)
			if err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			cpu, wall = append(cpu, cpuSeconds(syscall.RUSAGE_SELF)-began), append(wall, time.Since(clock).Seconds())
			t.Logf("  %-26s cost %12.0f  bound %12.0f  gap %6.2f %%  %5.2f s of processor, %5.2f s", what, p.Objective, p.Bound, 100*p.Gap, cpu[i], wall[i])
			if rep := audit.Plan(in, p); !rep.OK() {
				t.Errorf("%s: the audit found the plan wrong:\n%s", what, rep)
			}
		}
		slices.Sort(cpu)
		slices.Sort(wall)
		t.Logf("%s: median %.2f s of processor, %.2f s by the clock", name, (cpu[5]+cpu[6])/2, (wall[5]+wall[6])/2)
	}
}

// benchPeers prints what the peers make of the model.
func benchPeers(t *testing.T, in *planner.Input) {
	limit, err := time.ParseDuration(env("PEERS", "600s"))
	if err != nil {
		t.Fatalf("PEERS: %v", err)
	}
	if limit == 0 {
		return
	}
	m, err := planner.Model(in, benchplant.Options())
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"cbc", "highs"} {
		s, err := peer.Find(name)
		if err != nil {
			t.Logf("%-8s %v", name, err)
			continue
		}
		began := cpuSeconds(syscall.RUSAGE_CHILDREN)
		a, err := s.Solve(context.Background(), m, peer.Options{Time: limit, Gap: 1e-4})
		if err != nil {
			t.Logf("%-8s %v", name, err)
			continue
		}
		t.Logf("%-8s cost %12.0f  bound %12.0f  gap %6.2f %%  %7.1f s of processor", name, a.Objective, a.Bound,
			100*solve.Gap(!math.IsNaN(a.Objective), a.Objective, a.Bound), cpuSeconds(syscall.RUSAGE_CHILDREN)-began)
	}
}

// cpuSeconds is the processor time used so far by this process or by its children.
func cpuSeconds(who int) float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(who, &u); err != nil {
		return math.NaN()
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano()).Seconds()
}
