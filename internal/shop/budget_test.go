package shop

import (
	"reflect"
	"testing"

	"fairset/craft/guitar"
	"fairset/unit"
)

// What is remembered is what the draws give, and the smallest change of a design is another design.
func TestBudgetIsRememberedExactly(t *testing.T) {
	b, err := guitar.FindBasis("steel-14")
	if err != nil {
		t.Fatal(err)
	}
	d := b.Values.Clone()
	build := guitar.Build(d)
	for range 2 {
		want, err := build.Budget(guitar.Spreads(d), BudgetTrials, 1)
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			if got, err := Budget(build, d); err != nil || !reflect.DeepEqual(got, want) {
				t.Errorf("got %+v, %v; want %+v", got, err, want)
			}
		}
		build.ScaleLength += unit.Length(1e-9) // less than is ever written
	}
	build.ScaleLength = -1
	if _, err := Budget(build, d); err == nil {
		t.Error("a build that cannot be has a budget")
	}
}
