package web

// bookCalls ask for what the lab writes by hand.
var bookCalls = []call{
	{"get-books", "GET", "/books", "viewer", "", 200},
	{"list-mixes", "GET", "/mixes", "viewer", "", 200},
	{"add-mix", "POST", "/mixes", "operator", `{"solution":"c41/bleach","volume_l":5,"mixed_by":"Wren","lot":"77","parts":[{"part":"Part A","ml":500}]}`, 201},
	{"add-mix", "POST", "/mixes", "operator", `{"solution":"bleach","volume_l":5,"mixed_by":"Wren"}`, 422},
	{"add-mix", "POST", "/mixes", "operator", `{"solution":"c41/bleach","volume_l":0,"mixed_by":"Wren"}`, 422},
	{"get-mix", "GET", "/mixes/mix-aaaaaa", "viewer", "", 200},
	{"get-mix", "GET", "/mixes/MIX-NONE", "viewer", "", 404},
	{"correct-mix", "PUT", "/mixes/MIX-AAAAAA", "operator", `{"solution":"c41/developer","volume_l":4,"mixed_by":"Wren","version":9,"why":"misread"}`, 409},
	{"correct-mix", "PUT", "/mixes/MIX-AAAAAA", "operator", `{"solution":"c41/developer","volume_l":4,"mixed_by":"Wren","version":1,"why":"misread"}`, 200},
	{"finish-mix", "POST", "/mixes/MIX-NONE/finish", "operator", `{"reason":"used up"}`, 404},
	{"list-mix-rolls", "GET", "/mixes/MIX-AAAAAA/rolls", "viewer", "", 200},
	{"list-mix-rolls", "GET", "/mixes/MIX-NONE/rolls", "viewer", "", 404},
	{"mix-rolls-csv", "GET", "/mixes/MIX-AAAAAA/rolls.csv", "viewer", "", 200},
	{"list-bottles", "GET", "/units/tern-street/plover/bottles", "viewer", "", 200},
	{"list-bottles", "GET", "/units/tern-street/none/bottles", "viewer", "", 404},
	{"put-bottle", "POST", "/units/tern-street/plover/bottles", "operator", `{"mix":"MIX-AAAAAA"}`, 201},
	{"put-bottle", "POST", "/units/tern-street/plover/bottles", "operator", `{"mix":"MIX-BBBBBB"}`, 409},
	{"put-bottle", "POST", "/units/tern-street/plover/bottles", "operator", `{"mix":"MIX-AAAAAA","position":"c41/fixer"}`, 409},
	{"put-bottle", "POST", "/units/tern-street/plover/bottles", "operator", `{"mix":"MIX-NONE"}`, 404},
	{"put-bottle", "POST", "/units/tern-street/plover/bottles", "operator", `{"mix":""}`, 422},
	{"withdraw-mix", "POST", "/mixes/MIX-AAAAAA/withdraw", "operator", `{"reason":"smells of ammonia"}`, 200},
	{"restore-mix", "POST", "/mixes/MIX-AAAAAA/restore", "lead", `{"reason":"the nose was wrong"}`, 200},
	{"finish-mix", "POST", "/mixes/MIX-AAAAAA/finish", "operator", `{"reason":"used up"}`, 200},
	{"mixing-help", "GET", "/mixing?ml=350", "viewer", "", 200},
	{"mixing-help", "GET", "/mixing?ml=0", "viewer", "", 422},
	{"get-chemistry", "GET", "/chemistry", "viewer", "", 200},
	{"set-chemistry", "PUT", "/chemistry", "lead", `{"limits":[{"solution":"c41/developer","days":28,"ml_per_roll":100,"source":"leaflet"}],"recipes":[{"solution":"c41/developer","name":"1 L","parts":[{"part":"A","ml_per_l":200}]}]}`, 200},
	{"set-chemistry", "PUT", "/chemistry", "lead", `{"limits":[{"solution":"developer"}]}`, 422},
}

func init() { calls = append(calls, bookCalls...) }
