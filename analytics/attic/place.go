package attic

import (
	"fmt"

	"overhang/analytics/climate"
)

// AgesAt is how hot a place is to a covering: the constant temperature in °C at
// which it would age as it does over the year there, on a usual roof with vents
// balanced to code: of 6 in 12, of a middling colour, the mean of its pace on
// slopes to the north, east, south and west. So it knows nothing of one roof's own
// vents, direction and colour. It takes some hundredths of a second.
func AgesAt(y *climate.Year) (float64, error) {
	if err := believable(y); err != nil {
		return 0, err
	}
	h, err := Input{Year: y, RiseIn12: new(6.0)}.read()
	if err != nil {
		return 0, fmt.Errorf("laying out the usual roof: %w", err)
	}
	var p point
	for i, s := range h.span {
		p[i] = s.likely
	}
	p = p.balanced()
	mean := 0.0
	for _, p[facing] = range []float64{0, 90} {
		for _, slope := range newWeather(y, p[rise], p[facing], p[shelter]).run(p.roof()) {
			mean += slope[ageing] / 4
		}
	}
	return effective(mean), nil
}
