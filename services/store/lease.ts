// Who reads which partition, agreed on in the database by its clock. Leases run out by themselves, so
// the partitions of a process that died are taken up by the others, and only those.
import { randomUUID } from 'node:crypto'
import { type Database, type Store, transaction } from './connect.ts'

export interface Leased {
  topic: string
  partition: number
}

/** Readers ask anew several times within this. */
const LEASE_SECONDS = 3

export class Leases {
  readonly #store: Store
  readonly #reader: string
  readonly #worker = randomUUID()

  constructor(store: Store, reader: string) {
    this.#store = store
    this.#reader = reader
  }

  /**
   * Renews what this process has, takes what is free up to its fair share, and answers what it may
   * read. What goes beyond its share is left out of the answer and given up when it is not in `held`
   * any more. With no partitions at all it leaves.
   */
  async share(all: readonly Leased[], held: readonly Leased[]): Promise<Leased[]> {
    return transaction(this.#store, async (client) => {
      if (all.length === 0) return this.#leave(client)
      const workers = await this.#live(client)
      const most = Math.ceil(all.length / workers)
      const inHand = new Set(held.map(nameOf))
      const mine = await this.#renew(client)
      // What is in hand stays before what is not.
      mine.sort((a, b) => Number(inHand.has(nameOf(b))) - Number(inHand.has(nameOf(a))))
      const keep = mine.slice(0, most)
      const spare = mine.slice(most).filter((each) => !inHand.has(nameOf(each)))
      if (spare.length > 0) await client.query(GIVE_UP, this.#named(spare))
      if (keep.length === most) return keep
      return [...keep, ...(await this.#take(client, all, most - keep.length))]
    })
  }

  /** Says that this process lives, and answers how many do. */
  async #live(client: Database): Promise<number> {
    const { rows } = await client.query<{ workers: number }>(LIVE, [
      this.#reader,
      this.#worker,
      LEASE_SECONDS,
    ])
    return rows[0]!.workers
  }

  async #renew(client: Database): Promise<Leased[]> {
    const values = [this.#reader, this.#worker, LEASE_SECONDS]
    return (await client.query<Leased>(RENEW, values)).rows
  }

  async #take(client: Database, all: readonly Leased[], most: number): Promise<Leased[]> {
    const values = [...this.#named(all), LEASE_SECONDS, most]
    return (await client.query<Leased>(TAKE, values)).rows
  }

  async #leave(client: Database): Promise<Leased[]> {
    await client.query('delete from lease where reader = $1 and worker = $2', [
      this.#reader,
      this.#worker,
    ])
    await client.query('delete from worker where reader = $1 and name = $2', [
      this.#reader,
      this.#worker,
    ])
    return []
  }

  #named(places: readonly Leased[]): unknown[] {
    const topics = places.map(({ topic }) => topic)
    return [this.#reader, this.#worker, topics, places.map(({ partition }) => partition)]
  }
}

const nameOf = ({ topic, partition }: Leased) => `${topic}/${partition}`

const LIVE = `
  with alive as (
    insert into worker (reader, name, until)
    values ($1, $2, clock_timestamp() + make_interval(secs => $3))
    on conflict (reader, name) do update set until = excluded.until
  ), dead as (
    delete from worker where until < clock_timestamp() - interval '1 minute'
  )
  select 1 + count(*)::int as workers from worker
  where reader = $1 and name <> $2 and until > clock_timestamp()`

const RENEW = `
  update lease set until = clock_timestamp() + make_interval(secs => $3)
  where reader = $1 and worker = $2 returning topic, partition`

const GIVE_UP = `
  delete from lease using unnest($3::text[], $4::int[]) as spare (topic, partition)
  where lease.reader = $1 and lease.worker = $2
    and lease.topic = spare.topic and lease.partition = spare.partition`

/** In one order for all, so that two who take at once do not wait for each other in a circle. */
const TAKE = `
  insert into lease (reader, topic, partition, worker, until)
  select $1, wanted.topic, wanted.partition, $2, clock_timestamp() + make_interval(secs => $5)
  from unnest($3::text[], $4::int[]) as wanted (topic, partition)
  left join lease on lease.reader = $1
    and lease.topic = wanted.topic and lease.partition = wanted.partition
  where lease.until is null or lease.until < clock_timestamp()
  order by wanted.topic, wanted.partition limit $6
  on conflict (reader, topic, partition) do update
    set worker = excluded.worker, until = excluded.until
    where lease.until < clock_timestamp()
  returning topic, partition`
