package layout

// RunEngine is for the measure against the engine's own layout.
var RunEngine = runEngine
