package importer

// guessWords are names that people give to columns, beside those of the
// profile, with the field that they most likely mean. They serve proposals
// that a person sees and may change; an import without a mapping goes by the
// names of the profile alone. Common practice, no source.
var guessWords = map[string]string{
	"well_no": "number", "well_num": "number", "wellno": "number", "well": "number", "hole": "number", "hole_no": "number", "hole_number": "number",
	"log_no": "number", "log_number": "number", "report_no": "number", "report_number": "number", "our_no": "number", "office_no": "number",
	"permit": "permit_number", "permit_no": "permit_number",
	"well_id": "id", "hole_id": "id", "site_id": "id", "record_id": "id", "record": "id", "record_no": "id", "fid": "id", "objectid": "id", "source_id": "id",
	"plate_no": "plates.number", "tag": "plates.number", "tag_no": "plates.number", "tag_number": "plates.number",
	"use": "purpose", "well_use": "purpose", "use_of_well": "purpose", "purpose_of_well": "purpose", "well_status": "status",

	"lon": "lon", "longitude_dd": "lon", "long_dd": "lon", "lon_dd": "lon", "long_w": "lon", "dd_long": "lon", "latitude_dd": "lat", "lat_dd": "lat", "dd_lat": "lat", "lat_n": "lat",
	"position": "coordinates", "coords": "coordinates", "gps": "coordinates", "lat_long": "coordinates", "lat_lon": "coordinates", "latlong": "coordinates", "latlon": "coordinates", "location": "coordinates",
	"utm_e": "easting", "utm_n": "northing", "utm_easting": "easting", "utm_northing": "northing", "east": "easting", "north": "northing",
	"elevation": "ground_elevation", "elev": "ground_elevation", "ground_elev": "ground_elevation", "ground_level": "ground_elevation", "surface_elevation": "ground_elevation", "altitude": "ground_elevation",
	"accuracy_of_location": "accuracy", "method_of_location": "located_by", "how_located": "located_by",
	"legal_description": "legal", "land_description": "legal", "legal_location": "legal", "legal_desc": "legal", "trs": "legal", "twp_rng_sec": "legal", "township_range_section": "legal", "lot_concession": "legal",
	"geologic_log": "log", "well_log": "log", "drillers_log": "log", "driller_s_log": "log", "lithologic_log": "log", "log_text": "log", "strata": "log", "geology": "log", "formation_log": "log", "log_of_well": "log", "formations": "log",
	"lot": "parcel", "parcel_no": "parcel", "map_lot": "parcel", "tax_map": "parcel", "directions": "access_notes",

	"owner_name": "owner.name", "name_of_owner": "owner.name", "landowner": "owner.name", "customer": "owner.name", "client": "owner.name",
	"owner_address": "owner.address", "mailing_address": "owner.address", "phone": "owner.telephone", "telephone": "owner.telephone", "owner_phone": "owner.telephone",
	"site_address": "site.address", "street": "site.address", "street_address": "site.address", "well_address": "site.address",
	"drilled_by": "crew.driller", "driller_name": "crew.driller", "contractor": "crew.firm", "firm": "crew.firm", "company": "crew.firm", "drilling_firm": "crew.firm",
	"license_no": "crew.licence", "licence_no": "crew.licence", "license_number": "crew.licence", "licence_number": "crew.licence", "driller_license": "crew.licence", "driller_licence": "crew.licence",

	"date": "completed", "date_completed": "completed", "completion_date": "completed", "date_drilled": "completed", "drilled": "completed", "date_finished": "completed", "finished": "completed", "completed_on": "completed", "drill_date": "completed", "year": "completed", "year_drilled": "completed",
	"date_started": "started", "start_date": "started", "begun": "started",

	"td": "total_depth", "depth": "total_depth", "well_depth": "total_depth", "depth_drilled": "total_depth", "drilled_depth": "total_depth", "tot_depth": "total_depth", "depth_total": "total_depth", "total_depth_drilled": "total_depth", "depth_of_well": "total_depth", "finished_depth": "completed_depth", "depth_completed": "completed_depth", "completion_depth": "completed_depth",
	"bedrock": "depth_to_bedrock", "dtb": "depth_to_bedrock", "rock": "depth_to_bedrock", "depth_to_rock": "depth_to_bedrock", "depth_bedrock": "depth_to_bedrock", "rock_depth": "depth_to_bedrock", "ledge": "depth_to_bedrock", "depth_to_ledge": "depth_to_bedrock", "overburden": "depth_to_bedrock", "overburden_thickness": "depth_to_bedrock",
	"swl": "static_level", "static": "static_level", "static_water": "static_level", "static_water_level": "static_level", "water_level": "static_level", "depth_to_water": "static_level", "dtw": "static_level",
	"flow": "yield", "flow_rate": "yield", "gpm": "yield", "well_yield": "yield", "yield_rate": "yield", "rate": "yield", "final_yield": "yield", "capacity": "yield", "yield_tested_by": "yield_method", "test_method": "yield_method",
	"casing": "casing.to", "casing_length": "casing.to", "casing_len": "casing.to", "casing_to": "casing.to", "casing_bottom": "casing.to", "length_of_casing": "casing.to", "casing_size": "casing.diameter", "casing_dia": "casing.diameter", "casing_diam": "casing.diameter", "casing_type": "casing.material", "casing_kind": "casing.material", "casing_material": "casing.material",
	"diameter": "bores.diameter", "hole_diameter": "bores.diameter", "bore_diameter": "bores.diameter", "hole_size": "bores.diameter", "well_diameter": "casing.diameter", "method": "bores.method", "drill_method": "bores.method", "drilling_method": "bores.method", "method_of_drilling": "bores.method",
	"pump_set": "pump.set_depth", "pump_depth": "pump.set_depth", "pump_setting": "pump.set_depth", "pump_set_at": "pump.set_depth", "pump_type": "pump.type", "hp": "pump.power", "pump_hp": "pump.power",
	"notes": "remarks", "note": "remarks", "comments": "remarks", "comment": "remarks", "remark": "remarks", "formation": "rock_unit", "geologic_unit": "rock_unit", "landform": "setting", "topography": "setting",
}

// partWords are the same for the parts of a well, by role and without the
// role before them.
var partWords = map[Role]map[string]string{
	StrataRows: intervalWords("top", "bottom", map[string]string{
		"description": "description", "desc": "description", "lithology": "description", "formation": "description", "log": "description", "driller_log": "description", "drillers_log": "description", "as_written": "description", "words": "description", "remarks": "description", "notes": "description", "ground": "description",
		"type": "description", "rock": "description", "rock_type": "description", "soil": "description", "material": "description", "color": "color", "colour": "color", "hardness": "hardness", "weathering": "weathering", "water": "water", "water_bearing": "water",
	}),
	CasingRows:  intervalWords("from", "to", sizeWords),
	ScreenRows:  intervalWords("from", "to", map[string]string{"diameter": "diameter", "dia": "diameter", "size": "diameter", "material": "material", "slot": "slot", "slot_size": "slot", "opening": "slot"}),
	GroutRows:   intervalWords("from", "to", map[string]string{"material": "material", "type": "material", "grout": "material", "method": "method", "volume": "placed", "placed": "placed", "planned": "planned"}),
	BoreRows:    intervalWords("from", "to", map[string]string{"diameter": "diameter", "dia": "diameter", "size": "diameter", "method": "method"}),
	RodRows:     intervalWords("from", "to", map[string]string{"rod": "number", "number": "number", "no": "number", "minutes": "time", "time": "time", "remark": "remark", "remarks": "remark", "notes": "remark"}),
	PickRows:    {"set": "set", "of": "of", "depth": "depth", "reason": "reason", "by": "by", "date": "date"},
	DoubtRows:   {"about": "about", "reason": "reason", "by": "by", "date": "date"},
	StrikeRows:  {"depth": "depth", "at": "depth", "water_at": "depth", "strike": "depth", "struck_at": "depth", "depth_of_water": "depth", "flow": "flow", "yield": "flow", "gpm": "flow", "gain": "flow", "rate": "flow", "quantity": "flow", "note": "note", "notes": "note", "remarks": "note"},
	LevelRows:   {"date": "date", "measured": "date", "measured_on": "date", "date_measured": "date", "depth": "depth", "level": "depth", "water_level": "depth", "static_level": "depth", "swl": "depth", "dtw": "depth", "depth_to_water": "depth", "reading": "depth", "method": "method", "measured_from": "measured_from", "measuring_point": "measured_from"},
	TestRows:    {"date": "date", "method": "method", "duration": "duration", "hours": "duration", "minutes": "duration", "flow": "measured_flow", "rate": "measured_flow", "yield": "measured_flow", "gpm": "measured_flow", "drawdown": "drawdown", "level_before": "level_before", "static": "level_before", "pump_depth": "pump_depth", "note": "note", "notes": "note", "remarks": "note"},
	QualityRows: {"date": "date", "sampled": "date", "kind": "kind", "analyte": "kind", "parameter": "kind", "constituent": "kind", "value": "value", "result": "value", "unit": "unit", "units": "unit", "method": "method", "laboratory": "laboratory", "lab": "laboratory"},
	TreatRows:   {"kind": "kind", "treatment": "kind", "date": "date", "product": "product", "strength": "strength", "amount": "amount", "note": "note", "notes": "note", "remarks": "note", "from": "from", "to": "to", "pressure": "pressure"},
	WorkRows:    {"kind": "kind", "work": "kind", "firm": "firm", "contractor": "firm", "permit": "permit_number", "started": "started", "completed": "completed", "date": "completed", "depth": "total_depth", "yield": "yield", "report": "report", "note": "note", "remarks": "note"},
	ShiftRows:   {"date": "date", "from": "from", "to": "to", "note": "note", "remarks": "note"},
}

var sizeWords = map[string]string{
	"diameter": "diameter", "dia": "diameter", "diam": "diameter", "size": "diameter", "inside_diameter": "diameter", "outside_diameter": "outside_diameter", "od": "outside_diameter",
	"material": "material", "type": "material", "kind": "material", "wall": "wall", "wall_thickness": "wall", "schedule": "schedule", "joint": "joint", "drive_shoe": "drive_shoe", "shoe": "drive_shoe",
}

// intervalWords adds the words for the ends of an interval.
func intervalWords(top, bottom string, more map[string]string) map[string]string {
	out := make(map[string]string, len(more)+20)
	for word, name := range more {
		out[word] = name
	}
	for _, w := range []string{"from", "top", "start", "depth_from", "from_depth", "depth_top", "top_depth", "upper", "begin"} {
		out[w] = top
	}
	for _, w := range []string{"to", "bottom", "end", "depth_to", "to_depth", "depth_bottom", "bottom_depth", "base", "lower", "depth"} {
		out[w] = bottom
	}
	return out
}

// sheetWords are pieces of names that sheets have, in the order in which they
// are looked for.
var sheetWords = []struct {
	piece string
	role  Role
}{
	{"strat", StrataRows}, {"litholog", StrataRows}, {"geolog", StrataRows}, {"formation", StrataRows}, {"ground", StrataRows},
	{"casing", CasingRows}, {"screen", ScreenRows}, {"grout", GroutRows}, {"seal", GroutRows},
	{"strike", StrikeRows}, {"fracture", StrikeRows}, {"water_bearing", StrikeRows}, {"water_found", StrikeRows},
	{"level", LevelRows}, {"static", LevelRows}, {"test", TestRows}, {"quality", QualityRows}, {"chem", QualityRows}, {"lab", QualityRows},
	{"treat", TreatRows}, {"rod", RodRows}, {"own_pick", PickRows}, {"unreliable", DoubtRows}, {"work", WorkRows}, {"shift", ShiftRows}, {"bore", BoreRows}, {"hole_size", BoreRows},
	{"log", StrataRows}, {"well", Wells}, {"hole", Wells}, {"site", Wells}, {"location", Wells},
}

// keyWords are names of columns that tell which well a row belongs to, the
// likeliest first.
var keyWords = []string{
	"well_id", "wellid", "well_no", "wellno", "well_number", "well_num", "hole_id", "hole_no", "site_id", "record_id", "record_no", "id", "number", "well", "hole",
	"report_no", "report_number", "log_no", "log_number", "permit_number", "permit_no", "permit", "no", "key", "uid",
}
