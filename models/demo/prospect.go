package demo

import (
	"strings"
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// prospects invents the doors that the seller has knocked at: houses with an
// old covering near our roofs, on evenings and Saturdays of the last months,
// and the addresses that asked not to be called on.
func (m *maker) prospects() {
	// Streets on which we laid a roof.
	known := map[int32]bool{}
	for _, o := range m.ours {
		known[m.lots[o.lot].street] = true
	}
	left := min(m.Houses/16, 4000)
	stops := min(m.Houses/230, 400)
	for i := range m.lots {
		if left == 0 {
			break
		}
		l := &m.lots[i]
		if l.ours || l.gone || !known[l.street] {
			continue
		}
		d := m.dice.turn(forProspect, i)
		age := m.Today.YearsSince(l.layers[len(l.layers)-1].laid)
		switch {
		case age > 14 && d.chance(.16):
			m.prospect(d, l)
			left--
		case stops > 0 && d.chance(.008):
			m.stop(d, l, m.Today.AddDays(-d.between(20, 2000)), one(d, []string{"asked at the door", "letter", "rang the office"}))
			stops--
		}
	}
}

func (m *maker) prospect(d *dice, l *lot) {
	p := models.Prospect{HouseID: l.house, State: "not_called", SignsPosted: d.chance(.03)}
	if p.SignsPosted {
		p.Notes = "A sign at the door asks not to be called on."
		add(&m.c.Prospects, p)
		return
	}
	times := d.weighted(14, 46, 26, 14)
	day := m.Today.AddDays(-d.between(4, 260))
	for n := range times {
		if day.Weekday() == time.Sunday {
			day = day.AddDays(-1)
		}
		hour := d.between(16, 18)
		if day.Weekday() == time.Saturday {
			hour = d.between(10, 14)
		}
		outcome := []string{"nobody_home", "spoke", "come_back", "wants_a_look", "no"}[d.weighted(42, 22, 14, 9, 13)]
		k := models.Knock{HouseID: l.house, At: m.at(day, hour, d.between(0, 59)), Outcome: outcome}
		if outcome == "come_back" {
			k.Note = one(d, []string{"After the holidays.", "Wants to ask at home first.", "When the neighbour's is done."})
		}
		add(&m.c.Knocks, k)
		p.State = outcome
		switch outcome {
		case "nobody_home":
			p.NextOn = day.AddDays(3)
		case "come_back":
			p.NextOn = day.AddDays(d.between(7, 120))
		case "spoke":
			p.NextOn = day.AddDays(90)
		case "no":
			p.NextOn = day.AddDays(365)
		case "wants_a_look":
			p.NextOn = day
			p.ConsentOn, p.ConsentFor = day, "ring"
			m.wantsLook(d, l, day)
		}
		next := day.AddDays(d.between(3, 40))
		if n == times-1 || outcome == "no" || outcome == "wants_a_look" || next >= m.Today {
			if outcome == "no" && d.chance(.25) {
				m.stop(d, l, day, "asked at the door")
			}
			break
		}
		day = next
	}
	add(&m.c.Prospects, p)
}

// wantsLook gives a house that wants a look its contact, and the look where it
// was held.
func (m *maker) wantsLook(d *dice, l *lot, day units.Date) {
	who := m.contact(d, d.fullName(), "person")
	add(&m.c.Holdings, models.Holding{HouseID: l.house, ContactID: who, Role: "owner"})
	looked := nextWorkingDay(day.AddDays(d.between(2, 9)))
	v := models.Visit{Ref: m.visitRef(), HouseID: l.house, Purpose: "estimate", ByName: checker}
	switch {
	case day > m.Today.AddDays(-45) && d.chance(.5) || looked >= m.Today:
		v.BookedFor = nextWorkingDay(m.Today.AddDays(d.between(1, 9)))
	default:
		v.DoneOn, v.Method = looked, "ladder"
		if !inSeason(looked) {
			v.Method = "photo"
		}
	}
	id := add(&m.c.Visits, v)
	if v.DoneOn == 0 {
		return
	}
	y := l.layers[len(l.layers)-1]
	worn := v.DoneOn.YearsSince(y.laid) / float64(y.wears)
	extent := round(min(.9, .5*worn*worn*d.span(.8, 1.2)), 2)
	for _, defect := range []string{granules, curling} {
		severity := 1
		for _, from := range steps[defect] {
			if worn >= from {
				severity++
			}
		}
		add(&m.c.Findings, models.Finding{VisitID: id, Defect: defect, Look: "seen", Severity: new(severity), Extent: new(extent)})
	}
}

func (m *maker) stop(d *dice, l *lot, asked units.Date, reason string) {
	a := &m.c.Addresses[m.mainAddress(l)]
	if d.chance(.1) {
		reason += ", in writing"
	}
	add(&m.c.StopEntries, models.StopEntry{Address: strings.TrimSpace(a.Line()), AskedOn: asked, Reason: reason})
}

// mainAddress finds a house's main address: there are at least as many
// addresses as houses, in the same order.
func (m *maker) mainAddress(l *lot) int {
	i := int(l.house) - 1
	for m.c.Addresses[i].HouseID != l.house || !m.c.Addresses[i].Main {
		i++
	}
	return i
}
