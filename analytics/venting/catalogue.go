package venting

import (
	"fmt"
	"math"
	"slices"

	"overhang/analytics/units"
)

// Product is a vent that a bill may use, by its maker's figures. Its net free
// area is given each or by length of run, in one unit; without it the range of
// its kind is taken.
type Product struct {
	Kind Kind   `json:"kind"` // box, turbine, ridge, soffit_strip, soffit_panel or drip_edge_vent
	Name string `json:"name,omitempty"`

	NetEachIn2  *float64 `json:"net_each_in2,omitempty"`
	NetEachCm2  *float64 `json:"net_each_cm2,omitempty"`
	NetPerFtIn2 *float64 `json:"net_per_ft_in2,omitempty"`
	NetPerMCm2  *float64 `json:"net_per_m_cm2,omitempty"`

	LeastRiseIn12 *float64 `json:"least_rise_in_12,omitempty"`
	MostRiseIn12  *float64 `json:"most_rise_in_12,omitempty"`
	LeastRunFt    *float64 `json:"least_run_ft,omitempty"`
	LeastRunM     *float64 `json:"least_run_m,omitempty"`
}

// Item is what a price is of.
type Item string

// The items beside the kinds of vents, which are items under their own names.
const (
	ItemClear  Item = "clear_soffit" // each run, or by length
	ItemBaffle Item = "baffle"       // each bay
	ItemDuct   Item = "duct"         // each
	ItemClose  Item = "close_hole"   // each hole closed and its deck patched, or by length
)

// Price is what one item costs with its work, in any one currency: each, or by
// length of run.
type Price struct {
	Item  Item     `json:"item"`
	Each  *float64 `json:"each,omitempty"`
	PerFt *float64 `json:"per_ft,omitempty"`
	PerM  *float64 `json:"per_m,omitempty"`
}

// product is a Product read: net area of one, m², or of a metre.
type product struct {
	kind                          Kind
	name                          string
	how                           measure // each or length
	net                           span
	netIn2                        *Product // as it was given, to write the opening it makes
	source                        string
	leastRise, mostRise, leastRun float64
}

// price is of one, and of a metre; NaN is not given.
type price struct{ each, perM float64 }

var buyable = []Kind{Box, Turbine, Ridge, SoffitStrip, SoffitPanel, DripEdgeVent}

func readProducts(r *units.Reader, in []Product) []product {
	var out []product
	for i, p := range in {
		field := fmt.Sprintf("products[%d].", i)
		q := units.Reader{Field: field}
		o := product{kind: p.Kind, name: p.Name, how: each, netIn2: &in[i], source: "as given"}
		if !slices.Contains(buyable, p.Kind) {
			q.Refuse("kind", "must be box, turbine, ridge, soffit_strip, soffit_panel or drip_edge_vent")
		}
		one := q.One(1e-6, 10, units.Alternative{Field: "net_each_in2", Value: p.NetEachIn2, Unit: float64(units.SquareInch)}, units.Alternative{Field: "net_each_cm2", Value: p.NetEachCm2, Unit: float64(units.SquareCentimetre)})
		run := q.One(1e-6, 10, units.Alternative{Field: "net_per_ft_in2", Value: p.NetPerFtIn2, Unit: float64(units.SquareInch) / float64(units.Foot)}, units.Alternative{Field: "net_per_m_cm2", Value: p.NetPerMCm2, Unit: float64(units.SquareCentimetre)})
		o.leastRise, o.mostRise, o.leastRun = readMaker(&q, p.LeastRiseIn12, p.MostRiseIn12, p.LeastRunFt, p.LeastRunM)
		switch {
		case !math.IsNaN(one) && !math.IsNaN(run):
			q.Refuse("net_each, net_per_ft", "give one of them, not both")
		case !math.IsNaN(one):
			if p.Kind == Ridge {
				q.Refuse("net_each", "a ridge vent goes by its length: give net_per_ft_in2 or net_per_m_cm2")
			}
			o.net = exactly(one)
		case !math.IsNaN(run):
			if p.Kind == Box || p.Kind == Turbine {
				q.Refuse("net_per_ft, net_per_m", "goes with a run; give net_each_in2 or net_each_cm2")
			}
			o.how, o.net = length, exactly(run)
		case q.Err == nil:
			generic := genericOf(p.Kind)
			o.how, o.net, o.source = generic.how, generic.net, generic.source
		}
		if r.Err == nil {
			r.Err = q.Err
		}
		out = append(out, o)
	}
	return out
}

func readPrices(r *units.Reader, in []Price) map[Item]price {
	if len(in) == 0 {
		return nil
	}
	out := map[Item]price{}
	for i, p := range in {
		field := fmt.Sprintf("prices[%d].", i)
		q := units.Reader{Field: field}
		if !slices.Contains(buyable, Kind(p.Item)) && !slices.Contains([]Item{ItemClear, ItemBaffle, ItemDuct, ItemClose}, p.Item) {
			q.Refuse("item", "must be a kind of vent, clear_soffit, baffle, duct or close_hole")
		}
		o, had := out[p.Item]
		if !had {
			o = price{math.NaN(), math.NaN()}
		}
		if v := q.One(0, 1e6, units.Alternative{Field: "each", Value: p.Each, Unit: 1}); !math.IsNaN(v) {
			o.each = v
		}
		// a price for a foot is more for a metre
		if v := q.One(0, 1e7, units.Alternative{Field: "per_ft", Value: p.PerFt, Unit: 1 / float64(units.Foot)}, units.Alternative{Field: "per_m", Value: p.PerM, Unit: 1}); !math.IsNaN(v) {
			o.perM = v
		}
		if r.Err == nil {
			r.Err = q.Err
		}
		out[p.Item] = o
	}
	return out
}

// genericOf is the vent of a kind by the range of its kind.
func genericOf(k Kind) product {
	for _, how := range []measure{each, length} {
		if net, source := byDefault(k, how); source != "" {
			return product{kind: k, how: how, net: net, source: source, leastRise: math.NaN(), mostRise: math.NaN(), leastRun: math.NaN()}
		}
	}
	return product{kind: k}
}

// productsOf are the vents of a kind that a bill may use: those given, or the
// generic one.
func (a attic) productsOf(k Kind) []product {
	var out []product
	for _, p := range a.products {
		if p.kind == k {
			out = append(out, p)
		}
	}
	if out == nil {
		out = []product{genericOf(k)}
	}
	return out
}

// opening is the Opening that so many of the product make: a count, or a run
// in metres.
func (p product) opening(amount float64, h Height) Opening {
	o := Opening{Kind: p.kind, Name: p.name, Height: h}
	none := 0.0
	o.BlockedShare = &none
	if p.how == length {
		o.LengthM = &amount
	} else {
		n := int(math.Round(amount))
		o.Count = &n
	}
	if g := p.netIn2; g != nil {
		o.NetEachIn2, o.NetEachCm2, o.NetPerFtIn2, o.NetPerMCm2 = g.NetEachIn2, g.NetEachCm2, g.NetPerFtIn2, g.NetPerMCm2
		o.LeastRiseIn12, o.MostRiseIn12, o.LeastRunFt, o.LeastRunM = g.LeastRiseIn12, g.MostRiseIn12, g.LeastRunFt, g.LeastRunM
	}
	return o
}

func (p product) called() string {
	if p.name != "" {
		return p.name
	}
	return names[p.kind]
}

// names are for sentences: of one vent, or of a run.
var names = map[Kind]string{
	Box: "box vent", Turbine: "turbine", Ridge: "ridge vent", Gable: "gable louvre", SoffitStrip: "soffit strip",
	SoffitPanel: "vented soffit panel", SoffitLight: "soffit light", DripEdgeVent: "vented drip edge", Powered: "fan",
}
