-- When the record had first read all that its log held: before, nothing is answered from it.
alter table followed_log add column levelled bigint;
