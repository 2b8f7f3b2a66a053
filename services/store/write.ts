// The hot write: what a run of log records came to, and how far the log has been read, in one
// transaction. The position decides: two writers of one partition, a record delivered twice or a
// crash anywhere leave each record in the database once. Two writers take turns at the position's row.
import { copyRows, copyText } from './columns.ts'
import { type Database, type Store, transaction } from './connect.ts'
import { copyIn } from './copy.ts'
import { type Numbers, numberThings } from './dictionary.ts'
import {
  type Aside,
  changedByStoring,
  type KeptRecord,
  namesIn,
  type Said,
  setAside,
} from './kept-record.ts'
import { isRefusal } from './refusal.ts'
import { asideRow, FACT, factRows, SET_ASIDE, STATEMENT, statementRow } from './rows.ts'

/** Readings of consecutive records of one partition, by one version of the catalogue. */
export interface Slice {
  topic: string
  partition: number
  projection: string
  records: readonly KeptRecord[]
}

export interface Written {
  statements: number
  facts: number
  setAside: number
  /** Written before, by this writer or another. */
  dropped: number
  /** Where the partition goes on. */
  next: bigint
}

export type WriteFault = 'STORE_GAP' | 'STORE_OTHER_PROJECTION'

/** The database and what is to be written do not fit together; the sentence says how. */
export class WriteError extends Error {
  readonly code: WriteFault

  constructor(code: WriteFault, sentence: string) {
    super(sentence)
    this.name = 'WriteError'
    this.code = code
  }
}

/**
 * Writes a slice and moves the position behind it. Records already written are dropped; one the
 * database cannot hold is set aside as DOMAIN. Throws STORE_GAP when a record is missing before or
 * inside the slice, STORE_OTHER_PROJECTION when another version writes this database, and whatever
 * the database throws; then nothing was written.
 */
export async function writeSlice(store: Store, slice: Slice): Promise<Written> {
  const numbers = await numberThings(store.pool, slice.records.flatMap(namesIn))
  try {
    return await writeNumbered(store, slice, numbers, insert)
  } catch (error) {
    if (!isRefusal(error)) throw error
    return await writeNumbered(store, slice, numbers, insertByHalves)
  }
}

async function writeNumbered(
  store: Store,
  slice: Slice,
  numbers: Numbers,
  insertSorted: typeof insert,
): Promise<Written> {
  return transaction(store, async (client) => {
    const next = await lockPosition(client, slice)
    const fresh = slice.records.filter(({ offset }) => offset >= next)
    const dropped = slice.records.length - fresh.length
    assertFollow(slice, next, fresh)
    if (fresh.length === 0) return { statements: 0, facts: 0, setAside: 0, dropped, next }
    const { said, aside } = await insertSorted(client, sort(fresh, numbers), numbers)
    const end = next + BigInt(fresh.length)
    await client.query(MOVE_POSITION, [slice.topic, slice.partition, end])
    const facts = said.reduce((sum, { outcome }) => sum + outcome.facts.length, 0)
    return { statements: said.length, facts, setAside: aside.length, dropped, next: end }
  })
}

/** Waits for any other writer of the partition, then answers where it goes on. */
async function lockPosition(client: Database, slice: Slice): Promise<bigint> {
  const { topic, partition, projection } = slice
  const lock = () =>
    client.query<{ next: string; projection: string }>(LOCK_POSITION, [topic, partition])
  let [position] = (await lock()).rows
  if (!position) {
    await client.query(FIRST_POSITION, [topic, partition, projection])
    position = (await lock()).rows[0]!
  }
  if (position.projection !== projection)
    throw new WriteError(
      'STORE_OTHER_PROJECTION',
      `This database is written by another version of the event types (${position.projection}, here ${projection}). Stop one of the two, or run "npm run rebuild".`,
    )
  return BigInt(position.next)
}

const LOCK_POSITION = `
  select next_offset as next, projection from position
  where topic = $1 and partition = $2 for update`

const FIRST_POSITION = `
  insert into position (topic, partition, next_offset, projection) values ($1, $2, 0, $3)
  on conflict do nothing`

const MOVE_POSITION = `
  update position set next_offset = $3, stopped = null, updated = clock_timestamp()
  where topic = $1 and partition = $2`

function assertFollow(slice: Slice, next: bigint, fresh: readonly KeptRecord[]): void {
  const gap = fresh.findIndex(({ offset }, i) => offset !== next + BigInt(i))
  if (gap < 0) return
  throw new WriteError(
    'STORE_GAP',
    `${slice.topic}/${slice.partition} goes on at ${next + BigInt(gap)} and was given ${fresh[gap]!.offset}: records are missing between. Read again from ${next}.`,
  )
}

interface Sorted {
  said: KeptRecord<Said>[]
  aside: KeptRecord<Aside>[]
}

/** Statements apart from what is set aside, which includes those that cannot be stored as they are. */
function sort(records: readonly KeptRecord[], numbers: Numbers): Sorted {
  const sorted: Sorted = { said: [], aside: [] }
  for (const record of records) {
    if (!isSaid(record)) {
      sorted.aside.push(record as KeptRecord<Aside>)
      continue
    }
    const refusal = numbers.refusal(() => namesIn(record))
    const reason = refusal ? cannotHold(refusal) : changedByStoring(record.outcome)
    if (reason) sorted.aside.push(setAside(record, reason))
    else sorted.said.push(record)
  }
  return sorted
}

function isSaid(record: KeptRecord): record is KeptRecord<Said> {
  return 'statement' in record.outcome
}

async function insert(client: Database, sorted: Sorted, numbers: Numbers): Promise<Sorted> {
  const { said, aside } = sorted
  const statements = said.map((record) => statementRow(record, numbers))
  const copying = copyRows(client, STATEMENT, statements)
  // Made ready while the database takes in the statements.
  const facts = copyText(
    FACT,
    said.flatMap((record) => factRows(record, numbers)),
  )
  await copying
  if (facts.length > 0) await copyIn(client, FACT.copy, facts)
  await copyRows(client, SET_ASIDE, aside.map(asideRow))
  return sorted
}

/** Halves what the database refuses until the one it cannot hold stands alone, and sets that aside. */
async function insertByHalves(
  client: Database,
  { said, aside }: Sorted,
  numbers: Numbers,
): Promise<Sorted> {
  await client.query('savepoint whole')
  try {
    const sorted = await insert(client, { said, aside }, numbers)
    await client.query('release savepoint whole')
    return sorted
  } catch (error) {
    if (!isRefusal(error) || said.length === 0) throw error
    await client.query('rollback to savepoint whole; release savepoint whole')
    if (said.length === 1) {
      const kept = setAside(said[0]!, cannotHold(error.message))
      return insert(client, { said: [], aside: [...aside, kept] }, numbers)
    }
    const middle = said.length >> 1
    const first = await insertByHalves(client, { said: said.slice(0, middle), aside }, numbers)
    const rest = await insertByHalves(client, { said: said.slice(middle), aside: [] }, numbers)
    return { said: [...first.said, ...rest.said], aside: [...first.aside, ...rest.aside] }
  }
}

function cannotHold(reason: string): string {
  return `The database cannot hold it: ${reason}.`
}
