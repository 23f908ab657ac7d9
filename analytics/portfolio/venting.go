package portfolio

import (
	"math"

	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/models"
)

// Venting is the input of the ventilation check of one attic of a roof, by the
// branch's code.
func Venting(f *models.RoofFile, attic *models.Attic, b *models.Branch) venting.Input {
	in := venting.Input{Codes: []string{b.BuildingCode}, Units: b.Units, RetarderClass: attic.Retarder, ClimateZone: b.ClimateZone, Joists: attic.Cathedral}
	if attic.VentedArea != nil {
		v := attic.VentedArea.In(units.SquareMetre)
		in.PlanAreaM2 = &v
	}
	if attic.CeilingArea != nil {
		v := attic.CeilingArea.In(units.SquareMetre)
		in.CeilingAreaM2 = &v
	}
	// The flattest slope above the space decides where a rule asks for more
	// below a slope.
	for _, s := range f.Slopes {
		if s.Pitch != nil && (s.AtticID == nil || *s.AtticID == attic.ID) {
			rise := s.Pitch.In12()
			if in.RiseIn12 == nil || rise < *in.RiseIn12 {
				in.RiseIn12 = &rise
			}
		}
	}
	if attic.ClearSpace != nil {
		in.ClearSpaceMm = new(attic.ClearSpace.In(units.Millimetre))
	}
	in.Baffles, in.Ducts, in.Kneewalls = attic.Baffles, attic.Ducts, attic.Kneewalls
	in.Readings = readings(b)
	eavesAndRidge(f, attic, &in)
	for _, v := range f.Vents {
		if v.AtticID == attic.ID && v.EndedOn.IsZero() {
			in.Openings = append(in.Openings, opening(v))
		}
	}
	return in
}

// readings are how the branch reads what the codes leave in doubt.
func readings(b *models.Branch) venting.Readings {
	var r venting.Readings
	if b.HighVentsThere {
		r.ShareOf = "there"
	}
	if b.OneCondition {
		r.BothConditions = "no"
	}
	if b.NoQuarters {
		r.QuarterSplit = "no"
	}
	return r
}

// eavesAndRidge takes the eaves of the slopes above an attic, and its ridge
// where outlines draw it: each ridge is a line of two slopes.
func eavesAndRidge(f *models.RoofFile, attic *models.Attic, in *venting.Input) {
	ridge, drawn := 0.0, true
	for _, s := range StandingSlopes(f) {
		if s.AtticID != nil && *s.AtticID != attic.ID {
			continue
		}
		drawn = drawn && s.Outline != nil
		for i, c := range s.Outline {
			if c.Edge == "ridge" {
				next := s.Outline[(i+1)%len(s.Outline)]
				ridge += math.Hypot(float64(next.X-c.X), float64(next.Y-c.Y)) / 2
				if s.Pitch != nil {
					in.RidgeRisesIn12 = append(in.RidgeRisesIn12, s.Pitch.In12())
				}
			}
		}
		if s.Eave != nil && *s.Eave > 0 {
			eave := venting.Eave{Name: s.Name, LengthM: new(s.Eave.In(units.Metre))}
			if s.Overhang != nil {
				eave.OverhangMm = new(s.Overhang.In(units.Millimetre))
			}
			in.Eaves = append(in.Eaves, eave)
		}
	}
	if !drawn {
		in.RidgeRisesIn12 = nil
		return
	}
	if ridge > 0 {
		in.RidgeM = &ridge
	}
}

func opening(v models.Vent) venting.Opening {
	o := venting.Opening{Kind: venting.Kind(v.Kind), Name: v.Name, Count: v.Count, BlockedShare: v.Blocked, Powered: v.Kind == "powered"}
	switch v.Height {
	case "low":
		o.Height = venting.Low
	case "high":
		o.Height = venting.High
	case "between":
		o.Height = venting.Other
	}
	if v.Length != nil {
		m := v.Length.In(units.Metre)
		o.LengthM = &m
	}
	if v.FanFlow != nil {
		o.FanLs = new(v.FanFlow.In(units.LitrePerSecond))
	}
	if v.PitchFrom != nil {
		o.LeastRiseIn12 = new(v.PitchFrom.In12())
	}
	if v.PitchTo != nil {
		o.MostRiseIn12 = new(v.PitchTo.In12())
	}
	if v.LeastRun != nil {
		o.LeastRunM = new(v.LeastRun.In(units.Metre))
	}
	if v.PanelArea != nil {
		m2 := v.PanelArea.In(units.SquareMetre)
		o.PanelAreaM2 = &m2
	}
	if v.FreeArea != nil {
		net := v.FreeArea.In(units.SquareCentimetre)
		if v.Length != nil {
			o.NetPerMCm2 = &net
		} else {
			o.NetEachCm2 = &net
		}
	}
	return o
}

// AtticVenting is the ventilation check of one attic.
type AtticVenting struct {
	Attic  models.Attic
	Result venting.Result
}

// checkOf gives the check of an attic, or nil.
func checkOf(checks []AtticVenting, atticID int64) *venting.Result {
	for i := range checks {
		if checks[i].Attic.ID == atticID {
			return &checks[i].Result
		}
	}
	return nil
}

// Rule is the result under the branch's code, or nil.
func (a AtticVenting) Rule() *venting.RuleResult {
	if len(a.Result.Rules) == 0 {
		return nil
	}
	return &a.Result.Rules[0]
}

// CheckVenting checks each attic of a roof that is still there. An attic whose
// records cannot be checked gives an error that names it.
func CheckVenting(f *models.RoofFile, b *models.Branch) ([]AtticVenting, error) {
	var out []AtticVenting
	for i := range f.Attics {
		attic := &f.Attics[i]
		if !attic.EndedOn.IsZero() || (attic.VentedArea == nil && attic.CeilingArea == nil) {
			continue
		}
		r, err := venting.Check(Venting(f, attic, b))
		if err != nil {
			return nil, wrap("checking the ventilation of the attic "+attic.Name, err)
		}
		out = append(out, AtticVenting{*attic, r})
	}
	return out, nil
}

// Verdict sums the attics up as the condition of a warranty asks: met when all
// pass, short when one fails, and else not known.
func Verdict(checks []AtticVenting) promise.Verdict {
	verdict := promise.VentilationUnknown
	for i, c := range checks {
		switch rule := c.Rule(); {
		case rule == nil || rule.Verdict == venting.NotKnown:
			verdict = promise.VentilationUnknown
			for _, later := range checks[i+1:] {
				if r := later.Rule(); r != nil && r.Verdict == venting.Fails {
					return promise.VentilationShort
				}
			}
			return verdict
		case rule.Verdict == venting.Fails:
			return promise.VentilationShort
		default:
			verdict = promise.VentilationMet
		}
	}
	return verdict
}
