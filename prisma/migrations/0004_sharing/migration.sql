-- Who reads which partition for now, where several processes follow one log. An agreement that saves
-- work and no lock: what keeps each record once is the position. Unlogged: after a crash of the server
-- nobody holds anything, which is true.
create unlogged table worker (
  until timestamptz(3) not null,
  reader text collate "C" not null,
  name text collate "C" not null,
  constraint worker_pkey primary key (reader, name)
);
create unlogged table lease (
  until timestamptz(3) not null,
  partition integer not null,
  reader text collate "C" not null,
  topic text collate "C" not null,
  worker text collate "C" not null,
  constraint lease_pkey primary key (reader, topic, partition)
);

-- The log that positions count in, by the name its brokers have for themselves.
create table followed_log (
  id text collate "C" not null,
  constraint followed_log_pkey primary key (id)
);
