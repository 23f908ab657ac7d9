package demo

// All names are put together from made-up parts.

var givenNames = []string{
	"Adra", "Belis", "Cobin", "Dovan", "Elsba", "Fennar", "Garrin", "Hestor", "Ilven", "Jorin", "Kelda", "Lorcas", "Maritt", "Nevva",
	"Orlen", "Perrin", "Quillan", "Rhonel", "Sorrel", "Tamsel", "Ulven", "Vesna", "Wendra", "Yarrel", "Zelka", "Bramen", "Cathra",
	"Delwin", "Estrin", "Fairen", "Gwenna", "Hollin", "Innis", "Jessam", "Korbin", "Linnea", "Morwen", "Noland", "Ottile", "Petrin",
}

var (
	familyStarts = []string{"Ald", "Bran", "Cor", "Dun", "Esk", "Fal", "Gar", "Hol", "Ing", "Jar", "Kel", "Lund", "Mor", "Nor", "Ost",
		"Pell", "Quar", "Rav", "Sel", "Thorn", "Ulm", "Ver", "Wex", "Yar"}
	familyEnds = []string{"gate", "holt", "mere", "wick", "stow", "den", "brand", "ric", "vale", "strom", "beck", "moor", "lind", "haven"}
)

var (
	streetStarts = []string{"Alder", "Ash", "Aspen", "Barley", "Bell", "Birch", "Bram", "Bright", "Briar", "Cedar", "Chalk", "Cinder", "Clover",
		"Copper", "Crane", "Dew", "Drift", "Elder", "Ember", "Fallow", "Fern", "Flint", "Fox", "Frost", "Glen", "Grouse", "Hazel", "Heron",
		"Hollow", "Iron", "Juniper", "Kestrel", "Lark", "Larch", "Linden", "Maple", "Marten", "Mill", "Moss", "Nettle", "Oat", "Otter",
		"Owl", "Pebble", "Pine", "Quail", "Quartz", "Reed", "Ridge", "Rowan", "Rye", "Sage", "Shale", "Slate", "Snow", "Sorrel", "Spruce",
		"Stone", "Swallow", "Thistle"}
	streetEnds = []string{"bank", "bend", "brook", "burn", "by", "cairn", "combe", "copse", "cote", "croft", "cross", "dale", "dell", "edge",
		"fall", "field", "fold", "ford", "garth", "glade", "grove", "hurst", "knoll", "lea", "low", "mead", "mere", "nook", "pen", "reach",
		"rigg", "shaw", "side", "slip", "thwaite", "tor", "turn", "well", "wold", "wood"}
	streetKinds = []string{"Street", "Lane", "Avenue", "Drive", "Court", "Road", "Way"}
)

// streetName gives the k-th street name of a town: no two are alike for k
// below 16,800.
func streetName(seed uint64, k int) string {
	stems := len(streetStarts) * len(streetEnds)
	// A step that shares no factor with the number of stems visits all of them.
	i := (int(mix(seed)%uint64(stems)) + k*1009) % stems
	return streetStarts[i/len(streetEnds)] + streetEnds[i%len(streetEnds)] + " " + streetKinds[(i+k/stems)%len(streetKinds)]
}

var (
	hoodNames = []string{"Alder Bench", "Mill Flats", "Quarry Hill", "North Meadow", "Saddle Creek"}
	hoodSides = []string{"Upper ", "Lower ", "East ", "West ", "Old ", "New ", "Far "}
	planNames = []string{"Anvil", "Bellows", "Cairn", "Dovetail", "Eddy", "Furrow", "Gable", "Hearth", "Inlet", "Jetty", "Kiln", "Lantern",
		"Mantel", "Newel", "Orchard", "Pantry", "Quill", "Rafter", "Settle", "Trellis"}
	builderEnds = []string{"Homes", "Building Company", "and Daughters", "Housing"}
	colours     = []string{"weathered grey", "charcoal", "driftwood", "brown", "slate blend", "dark green", "rust red", "black"}
)

func (d *dice) familyName() string { return one(d, familyStarts) + one(d, familyEnds) }
func (d *dice) fullName() string   { return one(d, givenNames) + " " + d.familyName() }
