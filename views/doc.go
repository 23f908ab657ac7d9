// Package views holds the pages: their words, their looks and the little that
// runs in the browser, all embedded. It knows HTML and nothing else does; the
// server hands it filled page structs.
//
// # A page
//
// A page named roof is a struct in roof.go, a template in templates/roof.html,
// its words in words/en.roof.json, one line in pages.go and one filled example
// in samples (gallery_test.go). New fails when one of the first four is missing,
// the tests when the last is.
//
//	type RoofPage struct {
//		Frame
//		Facts   []Fact
//		History []Event
//		Years   Chart
//	}
//
//	func (RoofPage) Template() string { return "roof" }
//
//	{{define "scripts"}}{{template "chart scripts"}}{{end}}
//	{{define "main"}}
//	{{template "facts" .Facts}}
//	{{template "caution" "estimate"}}
//	{{template "chart" .Years}}
//	<h2>{{word "roof.history"}}</h2>
//	{{template "history" .History}}
//	{{end}}
//
// The layout around it shows the title, the opening sentences, the navigation,
// the search and the flash message from the Frame. Only a page with a chart or a
// map defines "scripts", with "chart scripts", "map scripts" or both.
//
// # Words
//
// No text is written in a template or in Go. It stands in the catalogue under a
// key: {{word "roof.history"}} in a template, Say("roof.history") in Go, Term
// ("covering", value) and {{term "covering" .Covering}} for the values of a fixed
// list. Keys are literals, so that a test can see that each exists and is used.
// Plain is for what is data: a name, an address.
//
// A text has placeholders, plural forms by the rules of CLDR (and "none" for
// exactly nought), small numbers in letters, and links whose addresses are given
// in Go:
//
//	"today.due": {"none": "Nothing is due.", "one": "[{roofs:spelled} roof](due) is due.",
//	              "other": "[{roofs:spelled} roofs](due) are due."}
//
//	Say("today.due", "roofs", n).Link("due", "/visits?due=yes")
//
// Every number in the opening of a page is such a link. {{template "sentence" .}}
// shows a Phrase with its links, {{say .}} without.
//
// Another language is a file words/fr.json with the same keys; tests compare.
//
// # Values
//
// The functions of the templates write values for the reader of the Frame:
//
//	date, shortdate, weekday    units.Date, units.Dated
//	moment                      time.Time, in the Frame's zone
//	money, cents                units.Money, in whole units or with cents
//	length, smalllength, distance, area, roofarea, ventarea, temperature, pitch
//	number, percent, years (YearsLeft), sample (how many records a figure rests on)
//	content, show               any of these
//
// A nil pointer, a nil and a zero date are written "not known". A bare float64 is
// refused: somebody must choose its rounding.
//
// # Parts
//
//	sentence  Phrase          table    Table (Here makes columns that sort, NewRow rows)
//	form      *Form           pager    Pager
//	facts     []Fact          history  []Event
//	range     YearsLeft       scale    (nothing)
//	caution   "climb", "remedy" or "estimate"
//	chart     Chart           map      Map
//
// Forms are made by Frame.Form and Frame.Filter, which know the token. A refused
// form is shown again by form.Keep(values).Refuse(message, rules). A form that takes
// several lines of one thing has More, a button for one more: the server shows the
// form again with what was typed and that line.
//
// # Rules
//
// Nothing is inline: no style attribute, no script, no event attribute, or the
// policy (ContentSecurityPolicy) refuses it; a test reads the templates for
// them. Sizes in drawings are SVG attributes. Colours are custom properties of
// app.css; a test computes their contrast by WCAG 2.2. Colour never speaks alone.
// Where a person is told to climb, "caution" "climb" stands beside it; beside a
// remedy "remedy"; beside years left "estimate".
//
// The links and forms of a list fetch only that list where scripts run (the
// hx-attributes of the table part). A server that refuses such a request because
// nobody is signed in must answer with the header HX-Redirect to the sign-in page.
package views
