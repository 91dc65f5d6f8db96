package rulebook

import _ "embed"

//go:embed rulebook.schema.json
var schemaJSON []byte

// SchemaFileName is the name that new rule books look for the JSON Schema
// under, in their own folder.
const SchemaFileName = "rulebook.schema.json"

// JSONSchema is the form of a rule book as a JSON Schema, draft 2020-12. A book
// that CheckFile has nothing to say about is valid under it. What stands between
// two keys it cannot say: that bands follow one another, that deductions do not
// fall, that no name comes twice.
func JSONSchema() []byte { return append([]byte(nil), schemaJSON...) }
