"""`rackside serve` under kills, faults and clocks that jump: what is lost or doubled, counted."""
