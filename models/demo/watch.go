package demo

import "overhang/models"

// watches make the company know what becomes of every roof in two of its
// neighbourhoods, and of a third for the years in which somebody had the time.
func (m *maker) watches() {
	hoods := m.hoods[:min(5, len(m.hoods))]
	watch := func(hood, sinceYears, untilYears int, notes string) {
		w := models.Watch{Neighbourhood: hoods[hood].name, FromOn: m.Today.AddYears(-sinceYears), Notes: notes}
		if untilYears > 0 {
			w.ToOn = m.Today.AddYears(-untilYears)
		}
		add(&m.c.Watches, w)
	}
	watch(3, 9, 0, "Every street walked in spring and in autumn.")
	watch(4, 6, 0, "")
	watch(2, 11, 8, "Walked by the office until the summer helper left.")
}
