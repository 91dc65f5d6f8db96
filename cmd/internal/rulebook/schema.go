package rulebook

import _ "embed"

//go:embed rulebook.schema.json
var schemaJSON []byte

// SchemaFileName is the name of the JSON Schema file to which new rule books refer, in
// their own folder.
const SchemaFileName = "rulebook.schema.json"

// JSONSchema returns the JSON Schema (draft 2020-12) of a rule book. A book without problems
// in CheckFile is valid under it. It cannot express conditions between several keys: that
// bands follow one another, that deductions do not decrease, that names are unique.
func JSONSchema() []byte { return append([]byte(nil), schemaJSON...) }
