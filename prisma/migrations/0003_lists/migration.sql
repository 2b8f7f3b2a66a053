-- What the lists of things are read by, newest first: only the facts that put a thing into a list.
create index fact_what_at_of_no_idx on fact (what, at, of_no) where what in (
  'lot-received', 'returns-collected', 'charge-line', 'heat-begun', 'ladle-tapped', 'sand-mulled',
  'molds-made', 'poured', 'load-handled', 'pack-line', 'repacked', 'pan-packed', 'shipped',
  'inspected');

-- Who else claims a slot in the same stretch of time.
create index statement_slot_span_until_idx on statement (slot, span_until) where slot is not null;
