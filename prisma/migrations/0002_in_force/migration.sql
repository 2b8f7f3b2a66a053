-- The statements in force now: the same as services/events/merge.ts, which says what is decided and why.
-- Names compare by their bytes, so every order here is the order there.
--
-- A function, for the two settings: the planner cannot know how few statements join others, and would
-- loop over all of them for each, or spend seconds on compiling what runs once.

create function statements_in_force()
returns table (topic text, partition integer, "offset" bigint)
language sql stable rows 10000
set enable_nestloop = off
set jit = off
begin atomic
with recursive
-- Of every key the statement recorded first, numbered.
said as materialized (
  select row_number() over () as no, s.*
  from (
    select distinct on (source, id, plant)
      topic, partition, "offset", plant, source, id, recorded, about, rank,
      joins_source, joins_id, voids, slot, span_from, span_until
    from statement
    order by source, id, plant, recorded, hash, rank desc, topic, partition, "offset"
  ) s
),
-- What each joins: another, or a root that has not arrived, which gets a number below zero. Those that
-- name one of another type or subject join nothing.
joined as materialized (
  select c.no,
    coalesce(t.no, -min(c.no) over (partition by c.plant, c.joins_source, c.joins_id, c.about)) as down
  from said c
  left join said t on t.source = c.joins_source and t.id = c.joins_id and t.plant = c.plant
  where c.joins_id is not null and (t.no is null or t.about = c.about)
),
-- From the roots up.
tree (no, root) as (
  select down, down from joined
  where not exists (select from joined further where further.no = joined.down)
  union
  select joined.no, tree.root from tree join joined on joined.down = tree.no
),
-- What no root leads to hangs on a circle: in the end it reaches all of it, and those in it themselves.
loop (no, reached) as (
  select no, down from joined where not exists (select from tree where tree.no = joined.no)
  union
  select loop.no, joined.down from loop join joined on joined.no = loop.reached
),
record (no, root) as (
  select no, root from tree where no > 0
  union all
  select loop.no, min(loop.reached)
  from loop join loop circle on circle.no = loop.reached and circle.reached = circle.no
  group by loop.no
),
version as (
  select said.*, root, bool_or(voids) over (partition by root) as void,
    superseded.no is not null as superseded
  from record
  join said on said.no = record.no
  left join (select distinct down as no from joined) superseded on superseded.no = record.no
),
-- Who is alone, and of each record the version nobody supersedes; in a circle, where everybody is
-- superseded, the strongest of all.
head as (
  select no, topic, partition, "offset", plant, source, id, recorded, rank, slot, span_from, span_until
  from said
  where not voids and not exists (select from record where record.no = said.no)
  union all
  (select distinct on (root)
    no, topic, partition, "offset", plant, source, id, recorded, rank, slot, span_from, span_until
  from version
  where not void
  order by root, superseded, rank desc, recorded desc, source desc, id desc)
),
-- When each takes up its slot, and how far those before it have taken it up.
held as (
  select head.*, since,
    max(til) over (partition by plant, slot order by since, no
      rows between unbounded preceding and 1 preceding) as reached
  from head
  cross join lateral (select coalesce(span_until, 9223372036854775807) as til) stop
  cross join lateral (select least(coalesce(span_from, -9223372036854775808), til - 1) as since) start
  where slot is not null
),
-- A new chain of rivals begins wherever time passes without any of them.
chained as (
  select *, count(*) filter (where reached is null or since >= reached)
    over (partition by plant, slot order by since, no) as chain
  from held
)
select topic, partition, "offset" from head where slot is null
union all
(select distinct on (plant, slot, chain) topic, partition, "offset"
from chained
order by plant, slot, chain, rank desc, recorded desc, source desc, id desc);
end;

create view in_force as select topic, partition, "offset" from statements_in_force();
