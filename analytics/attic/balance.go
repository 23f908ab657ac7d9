package attic

import "math"

// Materials and surfaces.
const (
	stefan    = 5.670374419e-8 // W/(m²·K⁴)
	emittance = 0.9

	shingleAndDeck = 0.077 + 0.11 // m²K/W, asphalt shingle and 11 mm of sheathing: ASHRAE Fundamentals, from memory
	topFilm        = 0.05         // m²K/W added to the insulation for ceiling board and joints
	insideFilm     = 0.12         // m²K/W under the ceiling

	// Heat stored, J/(m²K): covering with half the deck, the deck's other
	// half, and the attic's air with its timber. From 11 kg/m² of shingle,
	// 7 kg/m² of sheathing and 7 kg/m² of trusses at 1,300 to 1,600 J/(kg·K):
	// our judgement.
	coveringHeat = 18e3
	deckHeat     = 7e3
	airHeat      = 8e3

	// Convection inside, W/(m²K), at the deck and at the insulation: the usual
	// 2 to 4 of natural convection, our judgement.
	deckFilm  = 3.0
	floorFilm = 2.0

	inside = 20.0 // °C in the house

	snowDensity   = 200.0 // kg/m³ as it lies on a roof: our judgement
	snowConducts  = 0.108 // W/(m·K) at that density: 2.22·(ρ/1000)^1.88, Yen 1981, from memory
	snowAbsorbs   = 0.25  // of the sun
	leastSnow     = 0.02  // m; less is not a layer
	roofSnow      = 0.7   // of the depth on the ground: exposure factor of ASCE 7, from memory
	heatOfMelting = 334e3 // J/kg

	damp     = 0.8   // of saturation
	gain     = 0.003 // kg/kg that people add to the house's air: our judgement
	mostRoom = 0.5   // of saturation at 20 °C in the house: our judgement

	heating = 5.0 // °C outside under which an hour counts as one of winter: our judgement

	second = 3600.0 // seconds an hour
)

// Classes of vapour retarder, and the permeance of the ceiling with it in
// kg/(Pa·s·m²): the upper bounds of Classes I, II and III (0.1, 1 and 10 US
// perms), and 30 perms for painted board alone, our judgement.
var (
	retarders  = [...]string{"I", "II", "III", "none"}
	permeances = [...]float64{0.1 * perm, 1 * perm, 10 * perm, 30 * perm}
)

const perm = 57.2e-12 // kg/(Pa·s·m²)

// roof is one attic as the balance sees it; areas are by the m² of ceiling.
type roof struct {
	low, high  float64 // net free area, m²/m²
	height     float64 // between them, m
	insulation float64 // m²K/W
	leaks      float64 // ceiling's effective leakage at 4 Pa, m²/m²
	absorbs    float64 // the covering, of the sun
}

// hour is the weather of one hour as a roof of given slope, facing and shelter
// meets it. Index 0 is the slope asked about and 1 the opposite one.
type hour struct {
	air      float64    // °C
	wind     float64    // forced part of the convection outside, W/(m²K)
	gust     float64    // pressure of the wind at the eave, Pa
	pressure float64    // Pa
	density  float64    // kg/m³
	sun      [2]float64 // on the slope, W/m²
	sky      float64    // long-wave from sky and ground, W/m²
	snow     float64    // on the roof, m, before any has melted from below
	vapour   float64    // kg/kg outside
	room     float64    // kg/kg in the house
}

// weather is the hours of a year for one pair of slopes.
type weather struct {
	hours []hour
	lean  float64  // cosine of the slope
	still *weather // the weather in which icings are worst, when it is asked for
}

// Figures of one run, by their place in a row: what belongs to one slope, then
// what both share.
const (
	peakCovering = iota // °C
	peakDeck
	meanCovering
	ageing // pace against 25 °C all year
	snowHours
	meltHours
	icingHours
	melt // kg/m²
	meltCold
	freeze
	freezeCold
	dampHours                                 // four, by retarder
	frost        = dampHours + len(retarders) // four
	peakAttic    = frost + len(retarders)
	atticOver    = peakAttic + 1 // most over the outside, K
	meanOutside  = peakAttic + 2 // mean flow of outside air, m³/s by the m²
	meanHouse    = peakAttic + 3 // mean upward flow from the house when it is under 5 °C outside
	icyAttic     = peakAttic + 4 // °C in the weather in which icings are worst
	figuresCount = peakAttic + 5
)

// figures is one row, for one slope.
type figures [figuresCount]float64

// lifts is the natural part of the convection outside in W/(m²K), for a slope
// that is over the air by k (G. Walton, NBSIR 83-2655, 1983, from memory).
func (w *weather) lifts(k float64) float64 {
	if k > 0 {
		return 9.482 * cubeRoot(k) / (7.238 - w.lean)
	}
	return 1.810 * cubeRoot(-k) / (1.382 + w.lean)
}

// saturation is the vapour pressure in Pa over water, or over ice below 0 °C
// (Magnus with the constants of Alduchov and Eskridge 1996, from memory).
func saturation(c float64) float64 {
	if c < 0 {
		return 611.21 * math.Exp(22.587*c/(273.86+c))
	}
	return overWater(c)
}

func overWater(c float64) float64 { return 610.94 * math.Exp(17.625*c/(243.04+c)) }

// humidity is the mixing ratio in kg/kg of air with that vapour pressure.
func humidity(vapour, pressure float64) float64 { return 0.622 * vapour / (pressure - vapour) }

// year runs a roof through a year and gives the figures of both slopes.
func (w *weather) year(r roof) [2]figures {
	out := w.run(r)
	if w.still != nil {
		// It begins as cold as the outside, and so the last is the peak.
		icy := w.still.run(r)[0][peakAttic]
		out[0][icyAttic], out[1][icyAttic] = icy, icy
	}
	return out
}

func (w *weather) run(r roof) [2]figures {
	var out [2]figures
	net := newNetwork(r.low, r.high, r.height, r.leaks)
	side := 0.5 / w.lean // m² of each slope by the m² of ceiling
	ceiling := 1 / (r.insulation + topFilm + insideFilm)

	// The year begins with its own last days, so that it starts neither warm
	// nor cold.
	warmUp := min(72, len(w.hours))
	first := w.hours[len(w.hours)-warmUp].air
	covering, deck := [2]float64{first, first}, [2]float64{first, first}
	floor, air := first, first
	p := 0.0
	var lost [2]float64 // kg/m² melted from below since the snow came
	var under [2]bool   // covering held at 0 °C by melting snow
	var surface [2]float64
	var ice [len(retarders)][2]float64 // kg/m² of frost
	cold := 0.0

	for step := -warmUp; step < len(w.hours); step++ {
		counted := step >= 0
		h := &w.hours[(step+len(w.hours))%len(w.hours)]
		var depth [2]float64
		for s := range depth {
			if h.snow < leastSnow {
				lost[s], under[s] = 0, false
				continue
			}
			// What has thawed away outdoors as well is not lost twice.
			lost[s] = min(lost[s], h.snow*snowDensity)
			if depth[s] = h.snow - lost[s]/snowDensity; depth[s] < leastSnow {
				depth[s], under[s] = 0, false
			}
		}
		oldC, oldD, oldA := covering, deck, air
		var f flow
		var melted [2]float64  // W/m²
		flowing := math.Inf(1) // temperature of the attic that the flow was found for
		for pass := range 4 {
			if math.Abs(air-flowing) > 0.5 {
				flowing = air
				p, f = net.balance(h.gust, h.density, density(h.pressure, air), density(h.pressure, inside), p)
			}
			mixed := (deck[0]+deck[1])/4 + floor/2 + kelvin
			rad := 0.82 * 4 * stefan * mixed * mixed * mixed // two surfaces of 0.9 facing
			// covering = a + b·deck
			var a, b, k, c, d [2]float64
			for s := range 2 {
				top := covering[s] + kelvin
				if depth[s] > 0 {
					top = surface[s] + kelvin
				}
				cube := emittance * stefan * top * top * top
				absorbed := r.absorbs
				if depth[s] > 0 {
					absorbed = snowAbsorbs
				}
				film := h.wind + w.lifts(top-kelvin-h.air)
				gains := absorbed*h.sun[s] + emittance*h.sky + cube*(3*top-4*kelvin) + film*h.air
				loses := 4*cube + film
				if depth[s] == 0 {
					by := 1 / (coveringHeat/second + loses + 1/shingleAndDeck)
					a[s] = by * (coveringHeat/second*oldC[s] + gains)
					b[s] = by / shingleAndDeck
					continue
				}
				// The snow's surface is c + d·covering, and no warmer than 0 °C.
				k[s] = snowConducts / depth[s]
				c[s], d[s] = gains/(loses+k[s]), k[s]/(loses+k[s])
				if c[s]+d[s]*covering[s] > 0 {
					c[s], d[s] = 0, 0
				}
				if under[s] {
					continue
				}
				den := coveringHeat/second + k[s]*(1-d[s]) + 1/shingleAndDeck
				a[s] = (coveringHeat/second*oldC[s] + k[s]*c[s]) / den
				b[s] = 1 / shingleAndDeck / den
			}
			in, up := f.outside*heatOfAir, max(f.house, 0)*heatOfAir
			across := rad * (1 - w.lean)
			was := air
			deck, floor, air = inner{
				deck:   [2]float64{deckHeat/second + (1-b[0])/shingleAndDeck + deckFilm + rad*w.lean + across, deckHeat/second + (1-b[1])/shingleAndDeck + deckFilm + rad*w.lean + across},
				across: across, toFloor: rad * w.lean, toAir: deckFilm,
				gains: [2]float64{deckHeat/second*oldD[0] + a[0]/shingleAndDeck, deckHeat/second*oldD[1] + a[1]/shingleAndDeck},
				floor: rad + ceiling + floorFilm, fromDecks: rad / 2, floorAir: floorFilm, floorGains: ceiling * inside,
				air: airHeat/second + 2*side*deckFilm + floorFilm + in + up, airDecks: side * deckFilm, airGains: airHeat/second*oldA + in*h.air + up*inside,
			}.settle()
			settled := true
			for s := range 2 {
				covering[s] = a[s] + b[s]*deck[s]
				melted[s] = 0
				if depth[s] == 0 {
					continue
				}
				surface[s] = c[s] + d[s]*covering[s]
				switch {
				case under[s]:
					covering[s] = 0
					melted[s] = deck[s]/shingleAndDeck + k[s]*min(surface[s], 0) + coveringHeat/second*oldC[s]
					if melted[s] < 0 {
						under[s], melted[s], settled = false, 0, false
					}
				case covering[s] > 0:
					under[s], settled = true, false
				}
			}
			if pass > 0 && settled && math.Abs(air-was) < 0.2 {
				break
			}
		}

		for s := range 2 {
			if melted[s] > 0 {
				water := min(melted[s]*second/heatOfMelting, depth[s]*snowDensity)
				lost[s] += water
				if counted && h.air < 0 {
					o := &out[s]
					could := -h.air * second / heatOfMelting *
						(1/(shingleAndDeck+0.12) + 1/(depth[s]/snowConducts+1/(h.wind+w.lifts(surface[s]-h.air))))
					o[meltHours]++
					o[melt] += water
					o[freeze] += could
					if h.air <= icing {
						o[icingHours]++
						o[meltCold] += water
						o[freezeCold] += could
					}
				}
			}
			if counted && depth[s] > 0 {
				out[s][snowHours]++
			}
		}
		w.dampness(h, f, deck, side, &ice, &out, counted)
		if !counted {
			continue
		}
		for s := range 2 {
			o := &out[s]
			if step == 0 {
				o[peakCovering], o[peakDeck], o[peakAttic], o[atticOver] = covering[s], deck[s], air, air-h.air
			}
			o[peakCovering] = max(o[peakCovering], covering[s])
			o[peakDeck] = max(o[peakDeck], deck[s])
			o[peakAttic] = max(o[peakAttic], air)
			o[atticOver] = max(o[atticOver], air-h.air)
			o[meanCovering] += covering[s]
			o[ageing] += pace(covering[s])
			o[meanOutside] += f.outside / h.density
			if h.air < heating {
				o[meanHouse] += max(f.house, 0) / density(h.pressure, inside)
			}
		}
		if h.air < heating {
			cold++
		}
	}
	n := float64(len(w.hours))
	for s := range 2 {
		o := &out[s]
		o[meanCovering] /= n
		o[ageing] /= n
		o[meanOutside] /= n
		if cold > 0 {
			o[meanHouse] /= cold
		}
	}
	return out
}

// dampness carries the vapour of one hour for each class of retarder.
func (w *weather) dampness(h *hour, f flow, deck [2]float64, side float64, ice *[len(retarders)][2]float64, out *[2]figures, counted bool) {
	if h.air >= heating && deck[0] > 0 && deck[1] > 0 {
		// What frost there was melts, and such an hour's damp is not counted.
		*ice = [len(retarders)][2]float64{}
		return
	}
	// Lewis: the film for vapour is that for heat over the heat of moist air.
	film := side * deckFilm / heatOfAir // kg/s by the m² of ceiling
	var full, water [2]float64
	for s := range 2 {
		e := saturation(deck[s])
		full[s], water[s] = humidity(e, h.pressure), e
		if deck[s] < 0 {
			water[s] = overWater(deck[s])
		}
	}
	up := max(f.house, 0)
	for j, permeance := range permeances {
		// Vapour pressure is near w·P/0.622 where there is this little of it.
		through := permeance * h.pressure / 0.622
		num, den := f.outside*h.vapour+up*h.room+through*h.room, f.outside+up+through
		if den <= 0 {
			continue
		}
		dry := num / den
		n, d := num, den
		for s := range 2 {
			if ice[j][s] > 0 || dry > full[s] {
				n += film * full[s]
				d += film
			}
		}
		wet := n / d
		for s := range 2 {
			if ice[j][s] > 0 || dry > full[s] {
				ice[j][s] = max(0, ice[j][s]+film/side*(wet-full[s])*second)
			}
			if deck[s] > 0 {
				// The wood or the air takes it: what is counted is frost.
				ice[j][s] = 0
			}
			if !counted {
				continue
			}
			o := &out[s]
			o[frost+j] = max(o[frost+j], ice[j][s])
			if h.air < heating && wet*h.pressure/(0.622+wet) >= damp*water[s] {
				o[dampHours+j]++
			}
		}
	}
}

// inner is the balance of heat inside the attic, in W by the m² and by K: what each
// of its parts loses by the K of its own temperature, what passes to it by the K of
// another's, and what it gains besides.
type inner struct {
	deck                   [2]float64 // of each side, by its m²
	across, toFloor, toAir float64
	gains                  [2]float64

	floor, fromDecks, floorAir, floorGains float64 // by the m² of ceiling
	air, airDecks, airGains                float64
}

// settle gives the temperatures at which all of it balances:
//
//	deck[s]·D[s] − across·D[other] − toFloor·F − toAir·A = gains[s]
//	floor·F − fromDecks·(D[0]+D[1]) − floorAir·A = floorGains
//	air·A − airDecks·(D[0]+D[1]) − floorAir·F = airGains
//
// Both decks meet floor and air alike, so their sum is eliminated first, and two
// unknowns are left.
func (n inner) settle() (deck [2]float64, floor, air float64) {
	v0, v1 := 1/(n.deck[0]+n.across), 1/(n.deck[1]+n.across)
	both := v0 + v1
	own := 1 / (1 - n.across*both)
	gains, share := own*(v0*n.gains[0]+v1*n.gains[1]), own*both // D[0]+D[1] is gains + share·(toFloor·F + toAir·A)
	ff, fa := n.floor-n.fromDecks*share*n.toFloor, n.floorAir+n.fromDecks*share*n.toAir
	af, aa := n.floorAir+n.airDecks*share*n.toFloor, n.air-n.airDecks*share*n.toAir
	f, a := n.floorGains+n.fromDecks*gains, n.airGains+n.airDecks*gains
	by := 1 / (ff*aa - fa*af)
	floor, air = by*(f*aa+fa*a), by*(ff*a+af*f)
	met := n.toFloor*floor + n.toAir*air
	sum := gains + share*met
	return [2]float64{v0 * (n.gains[0] + met + n.across*sum), v1 * (n.gains[1] + met + n.across*sum)}, floor, air
}
