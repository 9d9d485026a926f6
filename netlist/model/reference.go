package model

// SectionDoc describes one section of the language: the table of keys that decodes it, in words.
type SectionDoc struct {
	Name string // as messages call it: "wire"
	Keys []KeyDoc
}

// KeyDoc describes one key.
type KeyDoc struct {
	Key    string
	Form   string // how the value is written
	Doc    string // what it means
	ByKind bool   // for some kinds of parts only
}

// Reference returns every section with its keys, in the order of the language reference. It is made of the same tables
// that decode a netlist.
func Reference() []SectionDoc {
	return []SectionDoc{
		harnessKeys.docs(), colorKeys.docs(), allowanceKeys.docs(), systemKeys.docs(), bodyKeys.docs(), zoneKeys.docs(), placeKeys.docs(), pathKeys.docs(),
		netKeys.docs(), partKeys.docs(), resistorKeys.docs(), loadKeys.docs(), sourceKeys.docs(), loadSpecKeys.named("load in full"),
		connectorKeys.docs(), pinKeys.docs(), terminalKeys.docs(), spliceKeys.docs(), panelKeys.docs(), linkKeys.docs(), wireKeys.docs(), cableKeys.docs(),
		stateKeys.docs(), reserveKeys.docs(), labelKeys.docs(), acceptKeys.docs(),
	}
}

// SectionNames returns the top level keys of a netlist in the order of the reference.
func SectionNames() []string { return append([]string(nil), sectionNames...) }

func (s *section[T]) docs() SectionDoc { return s.named(s.name) }

func (s *section[T]) named(name string) SectionDoc {
	doc := SectionDoc{Name: name}
	for _, f := range s.fields {
		doc.Keys = append(doc.Keys, KeyDoc{Key: f.key, Form: f.form, Doc: f.doc, ByKind: f.byKind})
	}
	return doc
}
