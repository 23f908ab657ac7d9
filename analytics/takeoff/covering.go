package takeoff

import (
	"fmt"
	"math"
	"slices"

	"overhang/analytics/units"
)

// Format is a covering as it comes in bundles. A zero number is not known.
type Format struct {
	Key               string  `json:"key"`
	Says              string  `json:"says"`
	BundlesPerSquare  float64 `json:"bundles_per_square,omitempty"`
	ShinglesPerSquare float64 `json:"shingles_per_square,omitempty"`
	ExposureIn        float64 `json:"exposure_in,omitempty"` // to the weather, up the slope
	WidthIn           float64 `json:"width_in,omitempty"`
	NailsByRule       bool    `json:"nails_by_rule"` // 4 or 6 a shingle; otherwise its own count
	Source            string  `json:"source"`
}

var formats = []Format{
	{
		Key: "strip_36", Says: "strip of 12 by 36 in, 5 in to the weather",
		BundlesPerSquare: 3, ShinglesPerSquare: 80, ExposureIn: 5, WidthIn: 36, NailsByRule: true,
		Source: "36 × 5 in is 1.25 ft², so 80 to the square (geometry); 3 bundles to the square, trade pages",
	},
	{
		Key: "metric", Says: "strip of 13¼ by 39⅜ in, 5⅝ in to the weather",
		BundlesPerSquare: 3, ShinglesPerSquare: 65, ExposureIn: 5.625, WidthIn: 39.375, NailsByRule: true,
		Source: "39⅜ × 5⅝ in is 1.538 ft², so 65 to the square (geometry; a trade page counts the same); 3 bundles to the square, trade pages",
	},
	{
		Key: "interlocking", Says: "interlocking shingle: its own count and nails",
		Source: "no published figure found; take the maker's sheet or count a bundle",
	},
	{
		Key: "other", Says: "any other asphalt shingle", NailsByRule: true,
		Source: "heavy shingles come 4 or 5 bundles to the square, trade pages; give the maker's numbers",
	},
}

// Formats lists the formats known here. The result is the caller's own.
func Formats() []Format { return slices.Clone(formats) }

// Covering is what is to be laid. What is given overrules the format's own
// numbers; of each group at most one may be given. An empty format is not
// known.
type Covering struct {
	Format string `json:"format,omitempty"` // strip_36, metric, interlocking or other

	BundlesPerSquare *float64 `json:"bundles_per_square,omitempty"`
	BundleCoversFt2  *float64 `json:"bundle_covers_ft2,omitempty"`
	BundleCoversM2   *float64 `json:"bundle_covers_m2,omitempty"`

	ShinglesPerSquare *float64 `json:"shingles_per_square,omitempty"`
	ShinglesPerBundle *float64 `json:"shingles_per_bundle,omitempty"`

	ExposureIn *float64 `json:"exposure_in,omitempty"` // to the weather; left out, the format's
	ExposureMm *float64 `json:"exposure_mm,omitempty"`

	NailsPerShingle *int `json:"nails_per_shingle,omitempty"` // by the maker's sheet; left out, the rule's 4 or 6
}

// laid is a Covering read; NaN is not known.
type laid struct {
	format            Format
	bundlesPerSquare  float64
	shinglesPerSquare float64
	exposure          float64 // m
	nails             int     // 0 not given
}

func (c Covering) read() (laid, []Warning, error) {
	r := units.Reader{Field: "covering."}
	out := laid{bundlesPerSquare: math.NaN(), shinglesPerSquare: math.NaN()}
	if c.Format != "" {
		i := slices.IndexFunc(formats, func(f Format) bool { return f.Key == c.Format })
		if i < 0 {
			return laid{}, nil, fmt.Errorf("covering.format %q: must be strip_36, metric, interlocking, other or left out", c.Format)
		}
		out.format = formats[i]
	}
	perSquare := r.One(0.5, 20, units.Alternative{Field: "bundles_per_square", Value: c.BundlesPerSquare, Unit: 1})
	covers := r.One(0.3, 20, units.Alternative{Field: "bundle_covers_ft2", Value: c.BundleCoversFt2, Unit: float64(units.SquareFoot)}, units.Alternative{Field: "bundle_covers_m2", Value: c.BundleCoversM2, Unit: 1})
	switch {
	case !math.IsNaN(perSquare) && !math.IsNaN(covers):
		r.Refuse("bundle_covers", "give either bundles_per_square or what a bundle covers, not both")
	case !math.IsNaN(perSquare):
		out.bundlesPerSquare = perSquare
	case !math.IsNaN(covers):
		out.bundlesPerSquare = float64(units.Square) / covers
	case out.format.BundlesPerSquare > 0:
		out.bundlesPerSquare = out.format.BundlesPerSquare
	}
	inSquare := r.One(10, 1000, units.Alternative{Field: "shingles_per_square", Value: c.ShinglesPerSquare, Unit: 1})
	inBundle := r.One(1, 500, units.Alternative{Field: "shingles_per_bundle", Value: c.ShinglesPerBundle, Unit: 1})
	switch {
	case !math.IsNaN(inSquare) && !math.IsNaN(inBundle):
		r.Refuse("shingles_per_bundle", "give either shingles_per_square or shingles_per_bundle, not both")
	case !math.IsNaN(inSquare):
		out.shinglesPerSquare = inSquare
	case !math.IsNaN(inBundle):
		out.shinglesPerSquare = inBundle * out.bundlesPerSquare
	case out.format.ShinglesPerSquare > 0:
		out.shinglesPerSquare = out.format.ShinglesPerSquare
	}
	out.exposure = r.One(2*float64(units.Inch), 18*float64(units.Inch), units.Alternative{Field: "exposure_in", Value: c.ExposureIn, Unit: float64(units.Inch)}, units.Alternative{Field: "exposure_mm", Value: c.ExposureMm, Unit: float64(units.Millimetre)})
	if math.IsNaN(out.exposure) && out.format.ExposureIn > 0 {
		out.exposure = out.format.ExposureIn * float64(units.Inch)
	}
	if c.NailsPerShingle != nil {
		if *c.NailsPerShingle < 2 || *c.NailsPerShingle > 12 {
			r.Refuse("nails_per_shingle", "must lie between 2 and 12")
		}
		out.nails = *c.NailsPerShingle
	}
	var warnings []Warning
	// 29 strips to a bundle, often quoted, is 87 to the square of 108.75 ft².
	if own := out.format.ShinglesPerSquare; own > 0 && math.Abs(out.shinglesPerSquare-own) > 0.05*own {
		warnings = append(warnings, Warning{
			Key:  "count_does_not_fit",
			Says: fmt.Sprintf("%.4g shingles to the square is not what this format lays, %.4g: count a bundle and measure what is to the weather.", out.shinglesPerSquare, own),
		})
	}
	return out, warnings, r.Err
}

// missing names the fields that would settle bundles and nails.
func (c laid) missing() []string {
	var out []string
	if c.format.Key == "" {
		out = append(out, "covering.format")
	}
	if math.IsNaN(c.bundlesPerSquare) {
		out = append(out, "covering.bundles_per_square")
	}
	if math.IsNaN(c.shinglesPerSquare) {
		out = append(out, "covering.shingles_per_bundle")
	}
	if c.nails == 0 && !c.format.NailsByRule {
		out = append(out, "covering.nails_per_shingle")
	}
	return out
}

// Nails gives the nails for whole bundles: bundles × shingles in a bundle ×
// nails a shingle, to the nearest nail. 100 bundles of 22 at 4 are 8,800
// (common practice, no source).
func Nails(bundles int, shinglesPerBundle float64, nailsPerShingle int) int {
	return int(math.Round(float64(bundles) * shinglesPerBundle * float64(nailsPerShingle)))
}
