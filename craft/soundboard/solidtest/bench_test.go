package solidtest

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"fairset/craft/soundboard"
)

// ownRun names the environment variable that turns TestOwnRun into a program of its own, so that its processor time can be read.
const ownRun = "FAIRSET_SOUNDBOARD_RUN"

const benchModes = 10

// figures are rise, dip, rotation and ten frequencies.
type figures []float64

// apart is the root mean square of the relative differences.
func (f figures) apart(g figures) float64 {
	sum := 0.0
	for i, v := range f {
		sum += (v/g[i] - 1) * (v/g[i] - 1)
	}
	return math.Sqrt(sum / float64(len(f)))
}

// TestOwnRun works the braced top out with as many cells as the environment says; without that it has nothing to do.
func TestOwnRun(t *testing.T) {
	into := os.Getenv(ownRun)
	if into == "" {
		t.Skip("serves BenchmarkSameError")
	}
	cells, err := strconv.Atoi(filepath.Base(into))
	if err != nil {
		t.Fatal(err)
	}
	m, braces := guitar(t, true)
	p, err := soundboard.Prepare(context.Background(), m, soundboard.Options{Cells: cells, Once: true})
	if err != nil {
		t.Fatal(err)
	}
	r, err := p.Solve(context.Background(), braces, soundboard.Request{Load: soundboard.Load{Moment: 8.4}, Modes: benchModes})
	if err != nil {
		t.Fatal(err)
	}
	f := figures{float64(r.Rise), float64(r.Dip), r.Rotation.Degrees()}
	for _, mode := range r.Modes {
		f = append(f, float64(mode.Frequency))
	}
	out, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(into, out, 0o600); err != nil {
		t.Fatal(err)
	}
}

// BenchmarkSameError works out one load and ten modes of the braced top with solid elements and with the soundboard, both in processes of
// their own on two threads. Errors are root mean squares of 13 figures against finer solids. Told is how many times longer the solids take
// than the cheapest grids that err no more than they do: in processor time, and by the clock.
func BenchmarkSameError(b *testing.B) {
	m, braces := guitar(b, true)
	run := func(around, radial int) (figures, solved) {
		a := solid(b, m, braces, around, radial, []Load{{8.4, 0}}, benchModes)
		s := a.mesh.Readings(a.U[0], a.bridge, 0.170)
		return append(figures{s.Rise, s.Dip, s.Rotation}, a.Frequencies[:benchModes]...), a
	}
	finest, _ := run(88, 26)
	b.Logf("finest solids: %.5g", finest)
	for b.Loop() {
		theirs, a := run(64, 18)
		limit := theirs.apart(finest)
		b.Logf("solids err by %.2f %%: %.5g", 100*limit, theirs)
		found := false
		for _, cells := range []string{"32", "40", "48", "56", "64", "80"} {
			into := filepath.Join(b.TempDir(), cells)
			cmd := exec.Command(os.Args[0], "-test.run=^TestOwnRun$")
			cmd.Env = append(os.Environ(), ownRun+"="+into)
			t0 := time.Now()
			if out, err := cmd.CombinedOutput(); err != nil {
				b.Fatalf("%v: %s", err, out)
			}
			wall, cpu := time.Since(t0), cmd.ProcessState.UserTime()+cmd.ProcessState.SystemTime()
			text, err := os.ReadFile(into)
			if err != nil {
				b.Fatal(err)
			}
			var ours figures
			if err := json.Unmarshal(text, &ours); err != nil {
				b.Fatal(err)
			}
			e := ours.apart(finest)
			b.Logf("%s cells: %.2f s, %.2f s of processors, errs by %.2f %%: %.5g", cells, wall.Seconds(), cpu.Seconds(), 100*e, ours)
			if e <= limit && !found {
				found = true
				b.ReportMetric(a.cpu.Seconds()/cpu.Seconds(), "times-cpu")
				b.ReportMetric(a.wall.Seconds()/wall.Seconds(), "times-wall")
				b.ReportMetric(100*e, "%error-ours")
				b.ReportMetric(100*limit, "%error-solids")
			}
		}
		if !found {
			b.Fatalf("no grid errs less than the solids' %.2f %%", 100*limit)
		}
	}
}
