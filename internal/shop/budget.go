package shop

import (
	"fmt"
	"sync"

	"fairset/craft/guitar"
	"fairset/craft/neckset"
)

// BudgetTrials is how many draws check the first-order spread: enough for two figures of it, as its own relative
// error is 1/sqrt(2n), half a percent. They are seeded, so the figure is the same each time.
const BudgetTrials = 20000

// budgets remembers what the draws gave: they take most of the time of a reply, and a design changes seldom.
var budgets = struct {
	sync.Mutex
	known map[asked]neckset.Budget
}{known: map[asked]neckset.Budget{}}

// asked is everything the draws depend on, to the last digit.
type asked struct {
	build   neckset.Build
	spreads string
}

// mostBudgets bounds how many are remembered.
const mostBudgets = 1000

// Budget returns how sure a design's target is, see neckset.Build.Budget. Nobody changes what it returns.
func Budget(b neckset.Build, d guitar.Values) (neckset.Budget, error) {
	spreads := guitar.Spreads(d)
	key := asked{b, fmt.Sprint(spreads)} // a Spread holds a plain float, which is written whole
	budgets.Lock()
	out, ok := budgets.known[key]
	budgets.Unlock()
	if ok {
		return out, nil
	}
	out, err := b.Budget(spreads, BudgetTrials, 1)
	if err != nil {
		return out, err
	}
	budgets.Lock()
	defer budgets.Unlock()
	if len(budgets.known) >= mostBudgets {
		clear(budgets.known)
	}
	budgets.known[key] = out
	return out, nil
}
