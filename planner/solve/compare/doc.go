// Package compare holds no code of its own, only the measurements that set the solvers of planner/solve beside others that
// are installed on the machine. One command prints all tables:
//
//	FEEDLINE_COMPARE=1 go test ./planner/solve/compare -v -timeout 0
//
// -run picks a table: Netlib, Plans (cold, warm, memory), Sweep. Times are processor seconds of the process that solves, so
// that a shared machine does not falsify them; both sides of a ratio are measured in the same run. For the sweep
//
//	LIMIT=60s           processor time for each solver on each model
//	MODELS=all          or a list such as miplib/vpm2,lotsizing/set1ch; a name that ends in * stands for all that begin so
//	PEERS=cbc           or cbc,highs, or none
//	VERBOSE=1           progress
package compare
