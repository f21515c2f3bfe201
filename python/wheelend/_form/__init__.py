"""The walk-round entry form: what stands on it (``_layout``, ``_last``), as a workbook (``_workbook``), on paper
(``_paper``), and what was typed into it (``_typed``). ``_make`` puts them together."""
