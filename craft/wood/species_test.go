package wood

import (
	"math"
	"regexp"
	"testing"

	"fairset/internal/reftest"
	"fairset/unit"
)

func TestEveryWoodHasASourceForWhatItGives(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range All() {
		if seen[s.Key] || s.Name == "" || s.Botanical == "" || s.Source == "" || len(s.Uses) == 0 {
			t.Errorf("%q: twice, or without name, use or source", s.Key)
		}
		seen[s.Key] = true
		if got, ok := Find(s.Key); !ok || got.Name != s.Name {
			t.Errorf("%s is not found", s.Key)
		}
		for _, c := range []struct {
			what  string
			given bool
			says  string
		}{
			{"modulus", s.Modulus != 0, `modulus( and bending strength)?: .*table 5-`}, {"shrinkage", s.Shrink.Radial != 0, `shrinkage: .*(table 4-|Chudnoff)`},
			{"coefficients", s.Radial != 0, `movement: (table 13-5|not tabulated)`}, {"ratios", s.Ratios.LR != 0, `ratios: tables 5-1 and 5-2`},
			{"tension across", s.Across != 0, `tension across the grain: table 5-3a`},
		} {
			if says := regexp.MustCompile(c.says).MatchString(s.Source); says != c.given {
				t.Errorf("%s: %s given %v, source says %v: %s", s.Key, c.what, c.given, says, s.Source)
			}
		}
		if s.Estimated == regexp.MustCompile(`movement: table 13-5`).MatchString(s.Source) {
			t.Errorf("%s: estimated %v: %s", s.Key, s.Estimated, s.Source)
		}
		if s.Modulus != 0 {
			// source: Wood Handbook chapter 5: raised by a tenth, once
			reftest.Near(t, s.Key+" modulus over bending modulus", float64(s.Modulus/s.Bending), 1.10, 1e-6)
			// source: Wood Handbook equation 4-9 at 12 %: density = 1000 × gravity × 1.12
			reftest.Near(t, s.Key+" density", float64(s.Density), 1000*s.Gravity12*1.12, 1)
		}
	}
	if _, ok := Find("driftwood"); ok {
		t.Error("driftwood is a wood")
	}
}

// source: Wood Handbook table 5-3a and 13-5, rows as printed
func TestHandbookRows(t *testing.T) {
	for _, c := range []struct {
		key      string
		mpa      float64
		gravity  float64
		cr, ct   float64
		kindSoft bool
	}{
		{"engelmann-spruce", 8900, 0.35, 0.00130, 0.00248, true},
		{"sugar-maple", 12600, 0.63, 0.00165, 0.00353, false},
		{"black-cherry", 10300, 0.50, 0.00126, 0.00248, false},
		{"yellow-poplar", 10900, 0.42, 0.00158, 0.00289, false},
		{"white-oak", 12300, 0.68, 0.00180, 0.00365, false},
	} {
		s, ok := Find(c.key)
		if !ok {
			t.Fatalf("no %s", c.key)
		}
		reftest.Near(t, c.key+" bending modulus in MPa", float64(s.Bending)/1e6, c.mpa, 0.5)
		reftest.Near(t, c.key+" gravity", s.Gravity12, c.gravity, 1e-9)
		reftest.Near(t, c.key+" radial", s.Moves(Radial), c.cr, 1e-9)
		reftest.Near(t, c.key+" tangential", s.Moves(Tangential), c.ct, 1e-9)
		if s.Softwood != c.kindSoft {
			t.Errorf("%s softwood %v", c.key, s.Softwood)
		}
	}
}

// The handbook's coefficients of table 13-5 are its shrinkage of table 4-3 spread evenly from the fibre
// saturation point to dry, as a share of the size at 10 %: C = S/(FSP (1 - S (FSP - 10)/FSP)).
// source: derived by hand in docs/method/wood.md; exceptions named there
func TestCoefficientsAgainstShrinkage(t *testing.T) {
	loose := map[string]float64{"honduran-mahogany": 0.45, "khaya": 0.45, "white-oak": 0.08, "sweet-birch": 0.13, "spanish-cedar": 0.025}
	for _, s := range All() {
		for _, d := range []struct {
			name         string
			shrink, move float64
		}{{"radial", s.Shrink.Radial, s.Radial}, {"tangential", s.Shrink.Tangential, s.Tangential}} {
			fsp := float64(s.FibreSaturation)
			want := d.shrink / (fsp * (1 - d.shrink*(fsp-10)/fsp))
			tol := 0.5e-5 + 1e-9 // half the last printed digit
			if share, ok := loose[s.Key]; ok {
				tol = share * want * 1.7
			}
			reftest.Near(t, s.Key+" "+d.name, d.move, want, tol)
		}
	}
}

func TestMaterialIsSymmetricAndStable(t *testing.T) {
	for _, s := range Stiff() {
		for _, cut := range []Cut{Quartersawn, Flatsawn} {
			m, borrowed, err := Board{Species: s, Cut: cut}.Material()
			if err != nil {
				t.Fatalf("%s: %v", s.Key, err)
			}
			if !m.Stable() {
				t.Errorf("%s %s: no material can be so: %+v", s.Key, cut, m)
			}
			if m.E1 < m.E2 || m.E1 < m.E3 || m.Density != s.Density {
				t.Errorf("%s %s: %+v", s.Key, cut, m)
			}
			if back := m.turned().turned(); math.Abs(back.Nu23-m.Nu23) > 1e-12 || back.E2 != m.E2 {
				t.Errorf("%s: turned twice %+v from %+v", s.Key, back, m)
			}
			missing := 0
			for _, v := range []float64{s.Ratios.ET, s.Ratios.ER, s.Ratios.GLR, s.Ratios.GLT, s.Ratios.GRT, s.Ratios.LR, s.Ratios.LT, s.Ratios.RT} {
				if v == 0 {
					missing++
				}
			}
			if len(borrowed) != missing {
				t.Errorf("%s lacks %d ratios, says it borrows %v", s.Key, missing, borrowed)
			}
			for _, b := range borrowed {
				if b.From == s.Name || b.From == "" || b.Why.Empty() {
					t.Errorf("%s: %v", s.Key, b)
				}
			}
		}
	}
}

// source: Wood Handbook tables 5-1, 5-2 (ratios from memory) and 5-3a: Sitka spruce
func TestSitkaTop(t *testing.T) {
	s, _ := Find("sitka-spruce")
	m, borrowed, err := Board{Species: s, Cut: Quartersawn}.Material()
	if err != nil || len(borrowed) > 0 {
		t.Fatal(borrowed, err)
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"E1", float64(m.E1) / 1e9, 11.88}, {"E2", float64(m.E2) / 1e9, 11.88 * 0.078}, {"E3", float64(m.E3) / 1e9, 11.88 * 0.043},
		{"G12", float64(m.G12) / 1e9, 11.88 * 0.064}, {"G13", float64(m.G13) / 1e9, 11.88 * 0.061}, {"G23", float64(m.G23) / 1e9, 11.88 * 0.003},
		{"nu12", m.Nu12, 0.372}, {"nu13", m.Nu13, 0.467}, {"nu23", m.Nu23, 0.435},
	} {
		reftest.Near(t, c.what, c.got, c.want, 1e-9)
	}
	// A brace stands with R up: the handbook's 0.245 for nu_TR against 0.240 by symmetry.
	f, _, err := Board{Species: s, Cut: Flatsawn}.Material()
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "nu_TR by symmetry", f.Nu23, 0.435*0.043/0.078, 1e-12)
	own, _, err := Board{Species: s, Cut: Quartersawn, Modulus: 10e9, Density: 400}.Material()
	if err != nil {
		t.Fatal(err)
	}
	reftest.Near(t, "own board E2 over E1", float64(own.E2/own.E1), 0.078, 1e-12)
	if own.E1 != 10e9 || own.Density != 400 {
		t.Errorf("own board %+v", own)
	}
}

func TestMaterialRefuses(t *testing.T) {
	s, _ := Find("persimmon")
	_, _, err := Board{Species: s}.Material()
	reftest.RangeError(t, err, "species")
	spruce, _ := Find("sitka-spruce")
	_, _, err = Board{Species: spruce, Modulus: unit.Stress(math.NaN())}.Material()
	reftest.RangeError(t, err, "modulus")
	_, _, err = Board{Species: spruce, Density: 9}.Material()
	reftest.RangeError(t, err, "density")
}

func TestWoodsByTheNamesTablesGive(t *testing.T) {
	// source: names as the Wood Handbook's tables 4-3, 4-4 and 5-3 and dealers write them.
	for text, key := range map[string]string{
		"sitka-spruce": "sitka-spruce", "Sitka spruce": "sitka-spruce", " SITKA  SPRUCE ": "sitka-spruce", "Picea sitchensis": "sitka-spruce",
		"Spruce, Sitka": "sitka-spruce", "Red spruce (eastern; sold as Adirondack)": "red-spruce", "Western redcedar": "western-redcedar",
		"Redwood, old growth": "redwood-old", "Redwood, young growth": "redwood-young", "Mahogany, true (Honduran)": "honduran-mahogany",
		"Mahogany, African (khaya)": "khaya", "Sapele": "sapele", "Rosewood, Indian": "indian-rosewood", "Spanish-cedar": "spanish-cedar",
		"Yellow-poplar": "yellow-poplar", "Common persimmon (American ebony-family wood)": "persimmon",
		"": "", "spruce": "", "redwood": "", "khaya or sapele": "", "plywood": "", "--": "",
	} {
		got, ok := Named(text)
		if ok != (key != "") || got.Key != key {
			t.Errorf("%q: got %q, want %q", text, got.Key, key)
		}
	}
}
