package lp

import "feedline/planner/solve/solvetest"

var lotSizing = solvetest.LotSizing
