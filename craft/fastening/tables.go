// Package fastening chooses drills for the bolts that hold a neck, says what thread a hole leaves in the
// wood, and estimates what load each bolt carries.
//
// A hanger bolt has a wood thread that turns into the end grain of the heel and a machine thread that
// passes a clearance hole in the body's neck block and takes a washer and nut from inside. Depths of bolts
// are measured from the top edge of the body's end down, the same figure on neck and body.
//
// Besides the hanger bolt it plans bolts in threaded inserts, bolts with barrel nuts and wood screws: every
// hole with its drill and stop, where holes may stand, what each kind holds, and what to ream when holes
// do not meet.
//
// The tables are embedded, each row with its source. Left out: bolts in shear, and glue.
package fastening

import (
	"embed"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"fairset/unit"
)

//go:embed data/*.csv
var data embed.FS

// Fit is how freely a bolt passes its clearance hole: an index into Thread.Clearance.
type Fit int

// The fits of the standards: close, normal, loose (fine, medium, coarse in ISO 273).
const (
	Close Fit = iota
	Normal
	Loose
)

// Fits lists the names of the fits in order.
func Fits() []string { return []string{"close", "normal", "loose"} }

// Washer is a flat washer that belongs to a thread.
type Washer struct {
	Kind         unit.Text
	Inner, Outer unit.Length // diameters
	Thickness    unit.Length
}

// Thread is one machine thread with what belongs to it.
type Thread struct {
	Name       string // "1/4-20 UNC", "M6x1"
	Metric     bool
	Major      unit.Length    // outside diameter
	Pitch      unit.Length    // advance of one turn
	Root       unit.Length    // at the bottom of the external thread
	StressArea float64        // m², for the bolt's own strength
	Clearance  [3]unit.Length // hole diameter by Fit
	NutAcross  unit.Length    // nut width across flats, which is the wrench size
	NutKind    string
	Washers    []Washer // smallest first
	Source     string
}

// Wrench says the spanner that fits the nut: "7/16 in", "10 mm".
func (t Thread) Wrench() string {
	if t.Metric {
		return strconv.FormatFloat(math.Round(t.NutAcross.MM()*10)/10, 'f', -1, 64) + " mm"
	}
	return t.NutAcross.AsFraction(64).String()
}

// WoodThread is the coarse thread of a lag screw, which the wood end of a hanger bolt carries too.
type WoodThread struct {
	Name    string
	Nominal unit.Length // outside diameter
	Root    unit.Length
	Pitch   unit.Length
	Source  string
}

// Drill is one twist drill.
type Drill struct {
	Series   string // fractional, number, letter, metric
	Name     string // "9/32", "#17", "B", "6.6 mm"
	Diameter unit.Length
}

// Series lists the drill series a shop may own.
func Series() []string { return []string{"fractional", "number", "letter", "metric"} }

// Threads returns the machine threads in the table, smallest first within inch and metric.
func Threads() []Thread {
	rows := tables().threads
	out := make([]Thread, len(rows))
	for i, t := range rows {
		t.Washers = append([]Washer(nil), t.Washers...)
		out[i] = t
	}
	return out
}

// WoodThreads returns the lag threads in the table.
func WoodThreads() []WoodThread { return append([]WoodThread(nil), tables().wood...) }

// Drills returns the drills of the named series, thinnest first; all four series when none is named. An
// unknown series is a *unit.RangeError naming drill_series.
func Drills(series ...string) ([]Drill, error) {
	if len(series) == 0 {
		series = Series()
	}
	want := map[string]bool{}
	for _, s := range series {
		if !contains(Series(), s) {
			return nil, choiceError("drill_series", "drill series", s, Series())
		}
		want[s] = true
	}
	var out []Drill
	for _, d := range tables().drills {
		if want[d.Series] {
			out = append(out, d)
		}
	}
	return out, nil
}

// FindThread reads a thread's name as people write it: "1/4-20 UNC", "1/4-20", "#8-32", "10-24 UNC", "M6",
// "M6x1.0". A size alone is enough where the table has only one thread of it. Otherwise the error is a
// *unit.RangeError naming thread, with the threads there are.
func FindThread(name string) (Thread, error) {
	want := threadKey(name)
	var found []Thread
	for _, t := range tables().threads {
		for _, k := range threadNames(t) {
			if k == want {
				found = append(found, t)
				break
			}
		}
	}
	if len(found) == 1 {
		return found[0], nil
	}
	var names []string
	for _, t := range tables().threads {
		if len(found) == 0 || t.Major == found[0].Major {
			names = append(names, t.Name)
		}
	}
	err := choiceError("thread", "thread", name, names)
	if len(found) > 1 {
		err.Why = unit.Say("more than one thread has this size")
	}
	return Thread{}, err
}

var spellings = strings.NewReplacer("×", "x", "–", "-", "−", "-", "no.", "", "#", "", `"`, "", " in ", "", " ", "", "¼", "1/4", "\u00a0", "")

// threadKey brings the spellings of one thread together.
func threadKey(name string) string {
	if len(name) > 40 {
		return ""
	}
	k := strings.ToLower(strings.TrimSpace(name))
	k = spellings.Replace(k)
	k = strings.TrimPrefix(k, "no")
	if strings.HasPrefix(k, "m") {
		k = strings.Replace(k, "-", "x", 1)
		if size, pitch, ok := strings.Cut(k, "x"); ok {
			if p, err := strconv.ParseFloat(pitch, 64); err == nil {
				k = size + "x" + strconv.FormatFloat(p, 'f', -1, 64)
			}
		}
	}
	return k
}

// threadNames lists the keys one thread answers to: whole, without its series, size alone.
func threadNames(t Thread) []string {
	whole := threadKey(t.Name)
	if t.Metric {
		size, _, _ := strings.Cut(whole, "x")
		return []string{whole, size}
	}
	bare := strings.TrimSuffix(strings.TrimSuffix(whole, "unc"), "unf")
	size, _, _ := strings.Cut(bare, "-")
	return []string{whole, bare, size, size + "in"}
}

// Wood returns the lag thread a hanger bolt of this machine thread carries at its other end: the one of the
// same nominal size. ok is false where the table has none (#8).
func (t Thread) Wood() (w WoodThread, ok bool) {
	for _, w := range tables().wood {
		if (w.Nominal - t.Major).Abs() < 0.02*unit.MM {
			return w, true
		}
	}
	return WoodThread{}, false
}

// WithdrawalRow is one line of the published table of design withdrawal loads, in pounds-force per inch of
// wood thread in side grain.
type WithdrawalRow struct {
	Gravity        float64
	Quarter        float64 // 1/4 in lag screw
	FiveSixteenths float64 // 5/16 in lag screw
	Source         string
}

// WithdrawalTable returns the published table, densest wood first. JointLoad uses the equation behind it,
// which the table rounds to whole pounds.
func WithdrawalTable() []WithdrawalRow { return append([]WithdrawalRow(nil), tables().withdrawal...) }

type book struct {
	threads    []Thread
	wood       []WoodThread
	drills     []Drill
	withdrawal []WithdrawalRow
}

// tables parses the embedded files once. They are ours, so a fault in them is a fault of the program.
var tables = sync.OnceValue(func() book {
	var b book
	for _, r := range rows("drill_sizes.csv") {
		d := Drill{Series: r.text("series"), Name: r.text("name")}
		switch d.Series {
		case "fractional":
			// The name is exact where the printed decimals are not.
			v, err := unit.ParseLength(d.Name, unit.InchDecimal)
			if err != nil {
				panic(err)
			}
			d.Diameter = v
		case "metric":
			d.Diameter = r.mm("diameter_mm")
		default:
			d.Diameter = r.inch("diameter_in")
		}
		b.drills = append(b.drills, d)
	}
	sortDrills(b.drills)
	for _, r := range rows("lag_threads.csv") {
		w := WoodThread{Name: r.text("size"), Source: r.text("source"), Pitch: r.mm("pitch_mm")}
		if strings.Contains(w.Name, "mm") {
			w.Nominal, w.Root = r.mm("nominal_dia_mm"), r.mm("root_dia_mm")
		} else {
			w.Nominal, w.Root = r.inch("nominal_dia_in"), r.inch("root_dia_in")
			w.Pitch = unit.Length(0.0254 / r.number("threads_per_inch"))
		}
		b.wood = append(b.wood, w)
	}
	for _, r := range rows("fasteners.csv") {
		b.threads = append(b.threads, readThread(r, b.drills))
	}
	for _, r := range rows("lag_withdrawal.csv") {
		b.withdrawal = append(b.withdrawal, WithdrawalRow{r.number("specific_gravity_ovendry"),
			r.number("W_table_1_4_lbf_per_in"), r.number("W_table_5_16_lbf_per_in"), r.text("source")})
	}
	return b
})

func readThread(r row, drills []Drill) Thread {
	t := Thread{Name: r.text("thread"), Metric: r.text("system") == "metric", NutKind: r.text("nut_kind"), Source: r.text("source"),
		StressArea: r.number("tensile_stress_area_mm2") * 1e-6}
	fits := Fits()
	if t.Metric {
		t.Major, t.Pitch, t.Root = r.mm("major_dia_mm"), r.mm("pitch_mm"), r.mm("minor_dia_external_root_mm")
		t.NutAcross = r.mm("nut_across_flats_max_mm")
		for i, f := range fits {
			t.Clearance[i] = r.mm("clearance_" + f + "_mm")
		}
	} else {
		t.Major, t.Root = r.inch("major_dia_in"), r.inch("minor_dia_external_root_in")
		t.Pitch = unit.Length(0.0254 / r.number("threads_per_inch"))
		t.NutAcross = fraction64(r.inch("nut_across_flats_max_in"))
		names := strings.Split(r.text("clearance_drills_close_normal_loose"), ";")
		for i, f := range fits {
			t.Clearance[i] = named(drills, strings.TrimSpace(names[i]), r.inch("clearance_"+f+"_in"))
		}
	}
	for _, n := range []string{"washer1", "washer2"} {
		if r.text(n+"_kind") != "" {
			t.Washers = append(t.Washers, Washer{unit.FromTable(r.text(n + "_kind")), r.mm(n + "_id_mm"), r.mm(n + "_od_mm"), r.mm(n + "_thickness_mm")})
		}
	}
	return t
}

// printed is half the last decimal the inch standards print, and a little: 0.281 stands for 9/32 = 0.28125.
const printed = 0.00055 * unit.Inch

// fraction64 gives back the fraction a three-decimal inch figure was printed from, if there is one.
func fraction64(v unit.Length) unit.Length {
	f := v.AsFraction(64)
	if f.Rest.Abs() < printed {
		return v - f.Rest
	}
	return v
}

// named gives the exact diameter of the drill the standard names for a hole, when it is the printed figure.
func named(drills []Drill, name string, v unit.Length) unit.Length {
	for _, d := range drills {
		if d.Name == name && (d.Diameter-v).Abs() < printed {
			return d.Diameter
		}
	}
	return v
}

type row map[string]string

func rows(file string) []row {
	f, err := data.Open("data/" + file)
	if err != nil {
		panic(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("table %s: %v", file, err))
	}
	out := make([]row, 0, len(all)-1)
	for _, cells := range all[1:] {
		r := row{"": file}
		for i, h := range all[0] {
			r[h] = cells[i]
		}
		out = append(out, r)
	}
	return out
}

func (r row) text(column string) string {
	v, ok := r[column]
	if !ok {
		panic(fmt.Sprintf("table %s has no column %s", r[""], column))
	}
	return v
}

func (r row) number(column string) float64 {
	v, err := strconv.ParseFloat(r.text(column), 64)
	if err != nil || !(v > 0) || !unit.Finite(v) {
		panic(fmt.Sprintf("table %s, column %s: %q is not a size", r[""], column, r.text(column)))
	}
	return v
}

func (r row) mm(column string) unit.Length   { return unit.Length(r.number(column) / 1000) }
func (r row) inch(column string) unit.Length { return unit.Length(r.number(column) * 0.0254) }

// Words lists every text that comes from the tables: the kinds of washer.
func Words() []unit.Text {
	var out []unit.Text
	for _, t := range Threads() {
		for _, w := range t.Washers {
			if !slices.Contains(out, w.Kind) {
				out = append(out, w.Kind)
			}
		}
	}
	return out
}
