-- Marks are looked up in the record in hand.
drop index fact_mark_idx;
drop function mark_key(text);
