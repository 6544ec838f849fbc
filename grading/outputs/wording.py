"""What every output says alike: the cautions."""

from __future__ import annotations

__all__ = ["CAUTIONS", "CAUTIONS_IN_SHORT"]

CAUTIONS = (
    "Blades, needles and adhesives can hurt: work on a firm mat, cut away from the body, air the room.",
    "A mitten made from this is no protective equipment, and must not be sold as such unless it has been assessed "
    "under the rules that apply where it is sold.",
    "Leather that touches skin must meet local limits for chemicals: in the European Union under 3 mg/kg of "
    "chromium VI (Regulation (EU) 301/2014, REACH Annex XVII, entry 47). Ask the tannery for its papers.",
    "Things for small children have rules of their own: cords (EN 14682), small parts, labels.",
    "These are general cautions and no advice: local law and a competent test house decide.",
)

CAUTIONS_IN_SHORT = (
    "Blades, needles and adhesives can hurt. No protective equipment. Leather, and things for small children, are "
    "under local rules: those and a competent test house decide."
)
