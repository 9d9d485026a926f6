// Package all brings the rooms of rules together: who imports it has every rule in the catalogue. It holds nothing itself.
package all

import (
	_ "ferrule/rules/bench"     // what is bought and made
	_ "ferrule/rules/fuses"     // from the source to the load: what protects
	_ "ferrule/rules/grounds"   // the way back
	_ "ferrule/rules/nets"      // what is joined to what
	_ "ferrule/rules/operation" // what works when
	_ "ferrule/rules/routing"   // where wires run
	_ "ferrule/rules/signals"   // sensors, buses, outputs of controllers
	_ "ferrule/rules/switching" // relays, switches, coils
	_ "ferrule/rules/terminals" // what sits in cavities
	_ "ferrule/rules/wires"     // what wires carry
)
