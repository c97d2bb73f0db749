package solidtest

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fairset/craft/soundboard"
	"fairset/internal/reftest"
	"fairset/unit"
)

var (
	top   = soundboard.Material{E1: 11e9, E2: 0.9e9, E3: 0.48e9, Nu12: 0.37, Nu13: 0.47, Nu23: 0.44, G12: 0.72e9, G13: 0.67e9, G23: 0.036e9, Density: 430}
	brace = soundboard.Material{E1: 11e9, E2: 0.48e9, E3: 0.90e9, Nu12: 0.47, Nu13: 0.37, Nu23: 0.2352, G12: 0.67e9, G13: 0.72e9, G23: 0.036e9, Density: 430}
	plate = soundboard.Material{E1: 12e9, E2: 1.2e9, E3: 1.2e9, Nu12: 0.40, Nu13: 0.40, Nu23: 0.50, G12: 1.0e9, G13: 1.0e9, G23: 0.30e9, Density: 700}
)

func guitar(t testing.TB, braced bool) (soundboard.Model, []soundboard.Brace) {
	f, err := os.Open("../testdata/outline.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m := soundboard.Model{Holes: []soundboard.Hole{{Centre: soundboard.Point{X: 0.330}, Radius: 0.050}}, Thickness: 2.8e-3, Material: top, Grain: [2]float64{1, 0}, Edge: soundboard.Clamped,
		Bridge: &soundboard.Bridge{Centre: soundboard.Point{X: 0.170}, Length: 0.030, Width: 0.150}}
	sc := bufio.NewScanner(f)
	for sc.Scan() {
		var x, y float64
		if _, err := fmt.Sscanf(strings.TrimSpace(sc.Text()), "%g,%g", &x, &y); err == nil {
			m.Outline = append(m.Outline, soundboard.Point{X: unit.Length(x), Y: unit.Length(y)})
		}
	}
	if !braced {
		return m, nil
	}
	m.Patches = []soundboard.Patch{{Name: "bridge plate", Corners: [4]soundboard.Point{{X: 0.140, Y: -0.086}, {X: 0.200, Y: -0.033}, {X: 0.200, Y: 0.033}, {X: 0.140, Y: 0.086}}, Thickness: 2.5e-3, Grain: [2]float64{0, 1}, Material: plate}}
	b := func(name string, x0, y0, x1, y1 unit.Length, w, h unit.Length) soundboard.Brace {
		return soundboard.Brace{Name: name, From: soundboard.Point{X: x0, Y: y0}, To: soundboard.Point{X: x1, Y: y1}, Width: w, Heights: []soundboard.Station{{Height: h}}, Material: brace}
	}
	return m, []soundboard.Brace{
		b("X left", 0.0777924, 0.1505544, 0.3564717, -0.1003696, 8e-3, 15e-3),
		b("X right", 0.0777924, -0.1505544, 0.3564717, 0.1003696, 8e-3, 15e-3),
		b("tone bar 1", 0.128, -0.050, 0.062, 0.098, 6e-3, 11e-3),
		b("tone bar 2", 0.080, -0.060, 0.032, 0.045, 6e-3, 9e-3),
		b("upper transverse", 0.402, -0.115, 0.402, 0.115, 10e-3, 14e-3),
	}
}

// solved is a run of the solid elements and what it cost.
type solved struct {
	Answer
	mesh      *Mesh
	bridge    Bridge
	wall, cpu time.Duration
}

func solid(t testing.TB, m soundboard.Model, braces []soundboard.Brace, around, radial int, loads []Load, modes int) solved {
	ccx, err := exec.LookPath("ccx")
	if err != nil {
		t.Skip("the solid finite-element solver ccx (package calculix-ccx) is not installed")
	}
	mesh := Guitar(m, braces, around, radial)
	b, err := mesh.Bridge(m.Bridge)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	f, err := os.Create(filepath.Join(dir, "top.inp"))
	if err != nil {
		t.Fatal(err)
	}
	if err := mesh.Write(f, b, loads, modes); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(ccx, "-i", "top")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "OMP_NUM_THREADS=2")
	t0 := time.Now()
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out[max(0, len(out)-3000):])
	}
	wall, cpu := time.Since(t0), cmd.ProcessState.UserTime()+cmd.ProcessState.SystemTime()
	t.Logf("%d nodes, %d bricks: ccx took %.1f s, %.1f s of processors", len(mesh.nodes), len(mesh.bricks), wall.Seconds(), cpu.Seconds())
	d, err := os.Open(filepath.Join(dir, "top.dat"))
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	a, err := Read(d)
	if err != nil {
		t.Fatal(err)
	}
	return solved{a, mesh, b, wall, cpu}
}

// The guitar-shaped top, bare, braced and lightly braced, under a couple and under couple and pull. source: computed, three-dimensional solid
// elements; the tolerances are what the trade can use: 3 % of a frequency, 5 % of a deflection.
func TestAgainstSolids(t *testing.T) {
	for _, c := range []struct {
		name           string
		braced         bool
		around, radial int // what lies near a brace needs finer bricks
		change         func(*soundboard.Model, []soundboard.Brace) []soundboard.Brace
	}{
		{"bare", false, 48, 14, nil},
		{"braced", true, 72, 22, nil},
		{"thinner, with an X and a transverse that taper", true, 56, 18, func(m *soundboard.Model, b []soundboard.Brace) []soundboard.Brace {
			m.Thickness = 2.4e-3
			b = append(b[:2:2], b[4])
			for i := range b {
				h := b[i].Heights[0].Height
				b[i].Heights = []soundboard.Station{{At: 0, Height: h / 3}, {At: 0.3, Height: h}, {At: 0.6, Height: 0.9 * h}, {At: 1, Height: h / 3}}
				b[i].Width *= 0.8
			}
			return b
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, braces := guitar(t, c.braced)
			if c.change != nil {
				braces = c.change(&m, braces)
			}
			loads := []soundboard.Load{{Moment: 8.4}, {Moment: 700 * (0.012 + 1.4e-3), Pull: 700}}
			a := solid(t, m, braces, c.around, c.radial, []Load{{8.4, 0}, {700 * (0.012 + 1.4e-3), 700}}, 6)
			mesh := a.mesh
			p, err := soundboard.Prepare(context.Background(), m, soundboard.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for k, load := range loads {
				r, err := p.Solve(context.Background(), braces, soundboard.Request{Load: load, Modes: 6})
				if err != nil {
					t.Fatal(err)
				}
				s := mesh.Readings(a.U[k], a.bridge, 0.170)
				t.Logf("case %d: rise %.4f, solid %.4f; dip %.4f, solid %.4f mm; rotation %.4f, solid %.4f degrees", k, r.Rise.MM(), s.Rise*1000, r.Dip.MM(), s.Dip*1000, r.Rotation.Degrees(), s.Rotation)
				reftest.Near(t, "rise over the solid's", float64(r.Rise)/s.Rise, 1, 0.05)
				reftest.Near(t, "dip over the solid's", float64(r.Dip)/s.Dip, 1, 0.05)
				reftest.Near(t, "rotation over the solid's", r.Rotation.Degrees()/s.Rotation, 1, 0.05)
				for i, b := range r.Braces {
					e := mesh.Strain(a.U[k], i)
					t.Logf("%s: strain halfway %.3g, solid %.3g; largest %.3g at %.2f, solid %.3g to %.3g", b.Name, b.Middle, Middle(e), b.Strain, b.Place, slices.Min(e), slices.Max(e))
					reftest.Near(t, b.Name+": strain halfway over the solid's", b.Middle/Middle(e), 1, 0.10)
				}
				for i := range 6 {
					t.Logf("mode %d: %.2f, solid %.2f Hz", i+1, float64(r.Modes[i].Frequency), a.Frequencies[i])
					reftest.Near(t, fmt.Sprintf("mode %d over the solid's", i+1), float64(r.Modes[i].Frequency)/a.Frequencies[i], 1, 0.03)
				}
			}
		})
	}
}
