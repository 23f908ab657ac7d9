package icing

import "slices"

// Plainly stands on every result.
const Plainly = "Membrane limits leaks; it does not stop ice dams. A ceiling that lets neither air nor heat through does."

// Caution is one thing to keep in mind before anybody acts on a result.
type Caution struct {
	Key  string `json:"key"`
	Says string `json:"says"`
}

var cautions = []Caution{
	{"no_chopping", "Nobody chops, torches or salts the ice: it breaks shingles, starts fires and eats metal, and ice falls on whoever stands below."},
	{"snow_blocked_flues", "Snow and ice block flues and vents, and carbon monoxide kills. If a flue or vent may be covered, turn the appliance off, air the house and call a licensed technician."},
	{"water_near_lights", "Water near lights, outlets or the electrical panel: touch nothing, switch nothing while standing in the wet, and call a licensed electrician."},
	{"sagging_or_cracking", "A ceiling or roof that sags, cracks or creaks, or doors that suddenly stick: leave the house at once and call for help from outside."},
	{"stay_off", "Nobody goes on a roof with frost, ice or snow, or on a wet or steep slope; all work up there needs fall protection."},
	{"local_code", "The local building code and its official decide; wiring, ducts, heating and structure belong to licensed trades."},
}

// Cautions lists what stands with every result. The list is the caller's own.
func Cautions() []Caution { return slices.Clone(cautions) }
