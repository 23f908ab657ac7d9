package demo

import (
	"fmt"
	"strings"

	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
)

// certificates gives some homeowners what is promised them on paper: those of
// the roofs of the last years, when the job is closed.
func (m *maker) certificates() {
	for i, r := range m.roofs {
		if !r.main || r.promise == 0 || r.closed <= m.longer() || r.ended != 0 {
			continue
		}
		d := m.dice.turn(forCertificate, i)
		on := m.past(nextWorkingDay(r.closed.AddDays(d.between(3, 20))))
		if on == 0 || !d.chance(.35) {
			continue
		}
		to := m.c.Contacts[r.house.owner(on)-1].Name
		add(&m.c.Certificates, models.Certificate{WarrantyID: r.promise, GivenOn: on, GivenTo: to, Body: m.certificate(r, to, on)})
	}
}

// certificate is how the company has written its certificates.
func (m *maker) certificate(r *ourRoof, to string, given units.Date) models.JSON[models.CertificatePart] {
	w := &m.c.Warranties[r.promise-1]
	t := &m.c.Terms[w.TermsID-1]
	on := func(d units.Date) string { return d.Time().Format("January 2, 2006") }
	by := strings.Join([]string{m.c.Company.Name, m.c.Company.Street, m.c.Company.Town, m.c.Company.Phone}, ", ")
	var conditions []string
	for _, c := range t.Conditions {
		for _, kind := range promise.ConditionKinds() {
			if kind.Key == c.Kind {
				conditions = append(conditions, kind.Sentence)
			}
		}
	}
	sale := "This promise goes along with the first sale of the house."
	if t.Transfer == "by_notice" {
		sale = fmt.Sprintf("This promise goes along with the first sale of the house, of which we are told in writing within %d days.", t.NoticeDays)
	}
	left := []string{}
	for _, x := range m.c.Declined {
		if x.JobID == r.job {
			left = append(left, x.What+", declined in writing on "+on(x.SignedOn)+".")
		}
	}
	return models.JSON[models.CertificatePart]{
		{Heading: "Limited warranty: who promises, and to whom", Rows: [][]string{{"Given by", by}, {"Given to", to}, {"Given on", on(given)}, {"Promise", w.Ref}, {"Terms", t.Name},
			{"Covering", m.c.Coverings[r.covering-1].Name}, {"Laid", on(r.laid)}}},
		{Heading: "What is promised", Paragraphs: []string{t.Remedy}, List: []string{"It pays for: labour, material, tear-off, disposal."}},
		{Heading: "From when to when", Paragraphs: []string{fmt.Sprintf("From %s through %s, both days counted.", on(w.StartOn), on(r.promiseUntil))}},
		{Heading: "Left out of the promise", Paragraphs: []string{t.Excluded}, List: left},
		{Heading: "Conditions", List: conditions},
		{Heading: "When the house is sold", Paragraphs: []string{sale}},
		{Heading: "How to claim", Paragraphs: []string{t.HowToClaim}},
		{Heading: "Wording as signed", Paragraphs: []string{w.Wording}},
		{Heading: "Your rights", Paragraphs: []string{t.Rights, "The wording as signed, local law and licensed advice decide."}},
	}
}
