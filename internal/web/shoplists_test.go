package web_test

import (
	"context"
	"net/http"
	"testing"
)

// What the shop owns and pays is kept, refused with a reason, and used at the drill step.
func TestShopDrillsAndPrices(t *testing.T) {
	b := newBench(t)
	form := b.get("/new").form("/new")
	form.Set("name", "Wren")
	b.follow(b.post("/new", form))
	id := b.guitar("Wren").Guitar.ID
	b.get("/guitar/"+id+"/step/drill").want(http.StatusOK, "9/32")

	set := b.get("/shop").form("/shop")
	set.Set("drills", "metric by 0.5 mm\r\n11/64")
	set.Set("price_neck", "9.50 per board foot")
	set.Set("currency", "€")
	b.follow(b.post("/shop", set)).want(http.StatusOK, "Saved")
	got := b.get("/shop").form("/shop")
	if got.Get("price_neck") != "9.50 per board foot" || got.Get("currency") != "€" || got.Get("drills") != "metric by 0.5 mm\n11/64" {
		t.Errorf("kept %q, %q, %q", got.Get("drills"), got.Get("price_neck"), got.Get("currency"))
	}
	// source: ASME B18.2.8, 7.14 mm for a 1/4 in bolt: of drills by half millimetres the next is 7.5 mm
	b.get("/guitar/"+id+"/step/drill").want(http.StatusOK, "7.5 mm", "Wood left round the holes", "How many times over")

	set.Set("drills", "blunt ones")
	set.Set("price_neck", "dear")
	p := b.post("/shop", set).want(http.StatusUnprocessableEntity, "Nothing was saved", "drills on hand", "blunt ones")
	if p.form("/shop").Get("drills") != "blunt ones" || p.form("/shop").Get("price_neck") != "dear" {
		t.Error("what was typed is lost")
	}
	for _, f := range p.faults() {
		t.Error(f)
	}
	set.Set("drills", "")
	b.post("/shop", set).want(http.StatusUnprocessableEntity, "price", "dear")
	if s, _ := b.shop.Settings(context.Background()); len(s.Drills) != 2 {
		t.Errorf("a refused form changed the shop: %v", s.Drills)
	}
	for _, f := range b.get("/shop").faults() {
		t.Error(f)
	}
}
