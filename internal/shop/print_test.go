package shop_test

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"runtime/metrics"
	"sync/atomic"
	"testing"
	"time"

	"fairset/internal/shop"
	"fairset/internal/store/sqlite"
	"fairset/printing"
	"fairset/unit"
)

// class opens a shop of n guitars with a reading each.
func class(b *testing.B, n int) (*shop.Shop, []string) {
	b.Helper()
	db, err := sqlite.Open(context.Background(), filepath.Join(b.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = db.Close() })
	s := shop.New(db)
	var ids []string
	for i := range n {
		v, err := s.NewFromDesign(b.Context(), fmt.Sprintf("Bird %d", i+1), "steel-14", nil, unit.Millimetre)
		if err != nil {
			b.Fatal(err)
		}
		v, err = s.Enter(b.Context(), v.Guitar.ID, v.Revision, "lean", map[string][]string{"gap": {"5.2 mm", "5.1 mm"}, "surface": {"frets"}, "graduation": {"0.1 mm"}}, unit.Millimetre, "bench 3")
		if err != nil {
			b.Fatal(err)
		}
		ids = append(ids, v.Guitar.ID)
	}
	return s, ids
}

// live is how many bytes of the heap the last collection found in use.
func live() uint64 {
	sample := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}

// BenchmarkPrint prints the full set of sheets of 1, 10 and 100 guitars to PDF on A4, and says how large the heap got, with
// what waits to be collected: about twice what is live. What is live is parted in two: what the open shop keeps of its guitars
// (the store remembers records it has read, a bounded number of them), and what printing holds besides, which must not
// grow with the number of guitars.
func BenchmarkPrint(b *testing.B) {
	for _, n := range []int{1, 10, 100} {
		b.Run(fmt.Sprintf("guitars=%d", n), func(b *testing.B) {
			s, ids := class(b, n)
			setup, options, err := printing.ParseSetup(map[string][]string{"paper": {"a4"}}, unit.Millimetre)
			if err != nil {
				b.Fatal(err)
			}
			job := printing.Job{Entries: printing.List(), Setup: setup, Format: printing.PDF, Lenient: true}
			if _, err := s.Guitars(b.Context()); err != nil { // reads them all
				b.Fatal(err)
			}
			runtime.GC()
			shopHolds := live()
			var peak atomic.Uint64
			most, files := uint64(0), 0
			done := make(chan struct{})
			go func() {
				for {
					select {
					case <-done:
						return
					case <-time.After(5 * time.Millisecond):
						var m runtime.MemStats
						runtime.ReadMemStats(&m)
						peak.Store(max(peak.Load(), m.HeapInuse))
					}
				}
			}()
			pages := 0
			for b.Loop() {
				pages = 0
				err := s.PrintEach(b.Context(), ids, func(shop.View) printing.Job { return job }, unit.Millimetre, options, func(_ string, write func(io.Writer) error) error {
					if files++; files != len(ids) {
						return write(io.Discard)
					}
					err := write(io.Discard)
					runtime.GC() // behind the last guitar, its own drawings still at hand
					most = max(most, live())
					return err
				},
					func(_ shop.View, r printing.Report, err error) {
						if err != nil {
							b.Error(err)
						}
						pages += r.Pages
					})
				if err != nil {
					b.Fatal(err)
				}
			}
			close(done)
			b.ReportMetric(float64(peak.Load())/(1<<20), "peak-MiB")
			b.ReportMetric(float64(shopHolds)/(1<<20), "shop-live-MiB")
			b.ReportMetric((float64(most)-float64(shopHolds))/(1<<20), "print-live-MiB")
			b.ReportMetric(float64(pages), "pages")
		})
	}
}
