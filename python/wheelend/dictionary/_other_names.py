"""What people write for a column in their own tables."""

from __future__ import annotations

# What people write for a column in their own tables, in plain spelling, with or without "number", "no" or "id" behind
# it: never read, only named in what is said of it.
OTHER_NAMES: dict[str, tuple[str, ...]] = {
    "unit": ("vehicle", "truck", "trailer", "fleet number"),
    "side": ("left right", "left or right"),
    "dual": ("inner outer", "inner or outer", "inside outside", "dual position", "single or dual"),
    "read_on": ("date", "day", "reading date", "date read", "date of reading", "inspection date", "inspected on",
                "measured on", "checked on", "date checked"),
    "odometer": ("mileage", "miles", "kilometers", "odometer reading", "hubometer", "hub odometer"),
    "tire": ("tire serial", "serial", "brand number", "tyre"),
    "reader": ("inspector", "read by", "checked by", "technician"),
    "pressure": ("tire pressure", "tyre pressure", "air pressure", "air", "psi", "kpa"),
    "inflated_to": ("set to", "pressure after", "inflated"),
    "kind": ("vehicle type", "unit type", "type of unit", "type"),
    "role": ("axle type", "axle role"),
    "target": ("target pressure", "recommended pressure", "cold pressure"),
    "pull": ("pull depth", "pull point", "removal depth"),
    "quantity": ("item", "check", "measurement"),
    "present": ("found", "defect"),
    "gvwr": ("gross vehicle weight rating", "gross weight rating"),
    "new": ("new depth", "depth when new", "original depth"),
    "sidewall_max": ("sidewall pressure", "maximum pressure"),
}  # fmt: skip
