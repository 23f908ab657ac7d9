package portfolio

import (
	"math"

	"overhang/analytics/attic"
	"overhang/analytics/icing"
	"overhang/analytics/units"
	"overhang/models"
)

// Climate is what the checks need to know of a branch's place; the zero value is
// not known.
type Climate struct {
	January    *units.Temperature // mean of the month
	DegreeDays *float64           // below 18 °C
	Name       string
}

func slopeFactor(p float64) float64 { return math.Hypot(1, p) }

// structureOf gives the building that a slope is on, or nil.
func structureOf(f *models.RoofFile, id int64) *models.Structure {
	for i := range f.Structures {
		if f.Structures[i].ID == id {
			return &f.Structures[i]
		}
	}
	return nil
}

// Eave is the input of the eave protection check of one slope, by the branch's
// code and climate.
func Eave(f *models.RoofFile, s *models.Slope, b *models.Branch, c Climate) icing.EaveInput {
	in := icing.EaveInput{Name: s.Name, Codes: []string{b.BuildingCode}, Units: b.Units, Cover: s.EaveCover, DegreeDaysC: c.DegreeDays}
	if b.SteepEavesRemoved {
		in.SteepRule2024 = "removed"
	}
	if c.January != nil {
		in.JanuaryC = new(c.January.Celsius())
	}
	if on := structureOf(f, s.StructureID); on != nil {
		in.Structure, in.Heated = on.Kind, on.Heated
		if on.Kind == "garage" {
			in.Detached = new(true)
		}
		if on.Wall != nil {
			in.WallMm = new(on.Wall.In(units.Millimetre))
		}
	}
	if s.Pitch != nil {
		in.RiseIn12 = new(s.Pitch.In12())
	}
	if s.Overhang != nil {
		in.OverhangMm = new(s.Overhang.In(units.Millimetre))
	}
	if s.Rafter != nil && *s.Rafter > 0 {
		in.RafterM = new(s.Rafter.In(units.Metre))
	}
	if s.EaveReach != nil {
		in.ReachMm = new(s.EaveReach.In(units.Millimetre))
	}
	if s.Eave != nil && *s.Eave > 0 {
		in.EaveM = new(s.Eave.In(units.Metre))
	}
	return in
}

// IceIndex is the input of the eave-icing index of one slope. The winter is of
// the attic below it, nil where there is none to tell of. The valleys are as the
// outlines have them, nil where they do not tell.
func IceIndex(f *models.RoofFile, s *models.Slope, space *models.Attic, winter *attic.Summary, shortValley, deadValley *bool, b *models.Branch) icing.IndexInput {
	in := icing.IndexInput{Name: s.Name, Units: b.Units, FacingDeg: s.Facing}
	if winter != nil {
		in.Winter, in.WinterLeast, in.WinterMost = ofAttic(winter.Winter), ofAttic(winter.WinterLeast), ofAttic(winter.WinterMost)
		for _, way := range winter.Ways {
			after := &icing.Winter{Melt: new(way.Melt), MeltCold: new(way.MeltCold), Frost: new(way.Frost)}
			switch way.Key {
			case "seal":
				in.WinterSealed = after
			case "insulate":
				in.WinterInsulated = after
			case "balance":
				in.WinterBalanced = after
			}
		}
	}
	if s.Pitch != nil {
		in.RiseIn12 = new(s.Pitch.In12())
	}
	if s.Overhang != nil {
		in.OverhangMm = new(s.Overhang.In(units.Millimetre))
		if s.Rafter != nil && s.Pitch != nil {
			over := float64(*s.Overhang) * slopeFactor(float64(*s.Pitch))
			if heated := s.Rafter.In(units.Metre) - over; heated > 0.1 {
				in.HeatedSlopeM = &heated
			}
		}
	}
	in.ValleyToShortEave, in.DeadValley = shortValley, deadValley
	for _, d := range f.Details {
		if !d.EndedOn.IsZero() || d.SlopeID == nil || *d.SlopeID != s.ID {
			continue
		}
		switch d.Kind {
		case "dead_valley":
			in.DeadValley = new(true)
			in.Saddle = has(f, "saddle")
		case "skylight":
			in.Skylights = new(true)
		}
	}
	if space != nil {
		in.KneeWalls = space.Kneewalls
		if space.Ducts != "" {
			in.DuctsEndInAttic = new(space.Ducts == "ends_in_attic")
		}
	}
	for _, c := range f.Callbacks {
		if c.CauseFound == "ice" && c.HappenedOn >= f.Roof.Laid.Earliest() {
			in.PastLeaks = new(true)
		}
	}
	return in
}

func ofAttic(w attic.Winter) *icing.Winter {
	return &icing.Winter{MeltHours: new(w.MeltHours), IcingHours: new(w.IcingHours), Melt: new(w.Melt), MeltCold: new(w.MeltCold), DampHours: new(w.DampHours), Frost: new(w.Frost)}
}
