package views

import "testing"

func neighbourSamples(f Frame) map[string]Page {
	f.Nav = Nav(Neighbours, AllSections...)
	lat, lon, near := 44.05, -121.3, 44.0502
	houses := []MapHouse{{Lat: &lat, Lon: &lon, Name: "16 Alder Lane", URL: "/neighbours/3", Said: Say("need.unknown"), Note: Say("neighbours.never")},
		{Lat: &near, Lon: &lon, Name: "14 Alder Lane", URL: "/roofs/1", Said: Say("neighbours.map.ours"), Square: true}}
	keys := []MapKey{{Words: Say("need.unknown")}, {Square: true, Words: Say("neighbours.map.ours")}}
	why := []Phrase{Say("why.door", "address", "14 Alder Lane").Link("roof", "/roofs/1"), Say("why.builder", "builder", "Alder Homes")}

	list := NeighboursPage{Frame: f, Ways: Say("neighbours.ways", "resting", 12, "stopped", 3).Link("walk", "/neighbours/walk").Link("stop", "/neighbours/stop-list"),
		Filter: f.Filter("narrow", "/neighbours", "houses", Field{Name: "street", Kind: Text, Label: Say("neighbours.street")}),
		Map:    Map{ID: "near", Label: Say("neighbours.map.label"), Houses: houses, Keys: keys, Bare: true}}
	list.Title = Say("neighbours.title")
	list.Opening = []Phrase{Say("neighbours.opening", "houses", 812).Link("alike", "/neighbours?only=alike"),
		Say("neighbours.likely", "houses", 64).Link("likely", "/neighbours?only=likely"), Say("neighbours.back", "houses", 3).Link("back", "/neighbours?state=come_back")}
	list.Table = Table{ID: "houses", Caption: Say("neighbours.caption"), Columns: []Column{{Head: Say("neighbours.address")}, {Head: Say("neighbours.why")}, {Head: Say("neighbours.need")}},
		Rows: []Row{NewRow(Cell{Value: "16 Alder Lane", URL: "/neighbours/3", Note: Plain("Ferry Flats")}, why, Term("need", "likely"))}}

	walk := WalkPage{Frame: f, Map: Map{ID: "walk", Label: Say("walk.map"), Houses: houses, Keys: keys, Bare: true, Ordered: true},
		Stops: []WalkStop{{Name: "16 Alder Lane", URL: "/neighbours/3", Leg: Say("walk.leg", "distance", "60 ft"), Why: why, Last: Say("neighbours.never")}}}
	walk.Title = Say("walk.title")

	one := NeighbourPage{Frame: f, Why: why, Facts: []Fact{{Term: Say("neighbour.built"), Value: "1998"}, {Term: Say("neighbour.covering"), Value: nil}},
		Knocks: []Event{{On: galleryDay, Who: "Ines Marlow", What: Term("outcome", "nobody_home")}},
		Knock: f.Form("knock", "/neighbours/3/knocks", Say("knock.submit"), Field{Name: "outcome", Kind: One, Label: Say("knock.outcome"),
			Options: []Option{{"nobody_home", Term("knock", "nobody_home")}, {"spoke", Term("knock", "spoke")}}}).Refuse("Something needs another look.", map[string]string{"outcome": "is needed"}),
		Stop: Say("neighbour.stop").Link("stop", "/neighbours/3/stop")}
	one.Title = Plain("16 Alder Lane")

	stop := StopCallingPage{Frame: f, Form: f.Form("stop", "/neighbours/3/stop", Say("stopcalling.submit"), Field{Name: "reason", Kind: Text, Label: Say("stopcalling.reason")})}
	stop.Title = Say("stopcalling.title", "address", "16 Alder Lane")
	stopped := StopListPage{Frame: f, Form: f.Form("add", "/neighbours/stop-list", Say("stoplist.submit"), Field{Name: "address", Kind: Text, Label: Say("stoplist.address"), Required: true}),
		Table: Table{ID: "stopped", Caption: Say("stoplist.caption"), Columns: []Column{{Head: Say("stoplist.address")}, {Head: Say("stoplist.asked")}}, Rows: []Row{NewRow("8 Quarry Rise", galleryDay)}}}
	stopped.Title = Say("stoplist.title")
	return map[string]Page{"neighbours": list, "walk": walk, "neighbour": one, "stop_calling": stop, "stop_list": stopped}
}

// A folded group opens by itself where something in it is filled in, wrong, or
// kept otherwise meanwhile; a field that nobody sees opens nothing.
func TestFoldedGroups(t *testing.T) {
	form := func() *Form {
		return Frame{}.Form("f", "/", Say("form.cancel")).Fold(Plain("Moss"), Field{Name: "look", Kind: One}, Field{Name: "was", Kind: Hidden, Value: "1"})
	}
	if g := form().Groups[1]; !g.Folded || g.Open() {
		t.Error("an empty group is open")
	}
	if !form().Keep(map[string][]string{"look": {"2"}}).Groups[1].Open() {
		t.Error("a group with an answer is folded away")
	}
	if !form().Refuse("", map[string]string{"look": "is needed"}).Groups[1].Open() {
		t.Error("a group with an error is folded away")
	}
}
