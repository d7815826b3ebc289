"""Orders from pieces: sheets, cloths and nets, floor, marks."""
