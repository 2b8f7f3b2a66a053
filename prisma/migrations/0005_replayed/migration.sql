-- What had been set aside and was replayed: the statement says where it had stood.
create index statement_replayof_idx on statement ((carried ->> 'replayof'))
  where carried ->> 'replayof' is not null;
