package console

import (
	"os"
	"runtime"
	"runtime/debug"
)

// What a plan in the background leaves to the keyboard. One thread more than there are processors lets the system choose between a
// solver and a key: it lets one that slept go first, where Go's own scheduler lets the solver go on for 10 ms. The collector runs
// less often, as it takes a processor for itself while it does.
const (
	moreThreads  = 1
	collectAt    = 400       // per cent of what is in use
	memoryAtMost = 450 << 20 // bytes from which on the collector runs more often again
)

// favourKeys sets the process up for keys that answer while a plan is made, where its environment does not say how it is to run;
// what it returns puts that back.
func favourKeys() (back func()) {
	threads := runtime.GOMAXPROCS(0)
	if os.Getenv("GOMAXPROCS") == "" {
		runtime.GOMAXPROCS(max(threads, runtime.NumCPU()+moreThreads))
	}
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return func() { runtime.GOMAXPROCS(threads) }
	}
	percent, most := debug.SetGCPercent(collectAt), debug.SetMemoryLimit(memoryAtMost)
	return func() {
		runtime.GOMAXPROCS(threads)
		debug.SetGCPercent(percent)
		debug.SetMemoryLimit(most)
	}
}
