// Package buy says what has to be bought for a harness, by specification and never by brand: wire, terminals, seals, housings,
// relays, fuses, studs and rings, splice barrels, heat-shrink, covering, grommets, labels. What is in hand by `[drawer]` is taken off.
//
// It takes a netlist with its routes and gives a List: items in the order of a shopping trip, what cannot be specified because the
// netlist does not say enough, and drawer entries that match nothing. It draws and prints nothing. It may import the model,
// netlist/route, netlist/bundle, netlist/cut, netlist/conductor and netlist/fusecurve.
//
// What comes with a kit or is in the vehicle already (supplied = true) is left out, and so are the devices themselves: lamps, motors,
// sensors, switches, modules. Colours are bought as they are written; a substitution by a colour that the shop has is not made here.
//
//	item.go   List, Item, Gap, and how need follows from what the harness takes
//	wire.go   wire and cable          ends.go    terminals, seals, rings
//	housing.go  housings, locks, plugs  parts.go   relays, fuses, panels, studs, small parts
//	splice.go   barrels and heat-shrink cover.go   covering, grommets, labels
//	drawer.go what is in hand
package buy
