// The write path against plain COPY: what genealogy has read of the invented foundry's reports goes into
// one database as genealogy writes it, and the very same rows into another by one COPY a table, both
// durable. Turn by turn, so that whatever else the machine does meets both.
// npm run prove takes it in; by itself: node services/run.mjs test/bench/write.bench.ts [days]
import { readRecord } from '../../services/genealogy/reading.ts'
import type { Store } from '../../services/store/connect.ts'
import { type Slice, writeSlice } from '../../services/store/write.ts'
import { newPostgres } from '../log/real-postgres.ts'
import { type Finding, report } from './finding.ts'
import { copyAll, readyRows, timed } from './plain-copy.ts'
import { plantRecords } from './plant-records.ts'

const DAYS = 15
/** As many as the log hands over at once when there is enough to read. */
const SLICE = 2_000
const TURNS = 10
/** The first turns also compile the code. */
const WARM_UP = 2
const LEAST_RATIO = 0.6

export async function measureWrite(days = DAYS): Promise<Finding[]> {
  const make = await newPostgres
  if (typeof make === 'string') throw new Error(make)
  const [ours, plain] = [await make(), await make()]
  try {
    const slices = slicesOf(days)
    const turns = []
    for (let turn = 0; turn < TURNS; turn++) {
      const own = slices.slice(
        Math.floor((turn * slices.length) / TURNS),
        Math.floor(((turn + 1) * slices.length) / TURNS),
      )
      const ms = await timed(async () => {
        for (const slice of own) await writeSlice(ours.store, slice)
      })
      const known = await plain.store.pool.query('select coalesce(max(no), 0) as no from thing')
      const tables = await readyRows(
        ours.store,
        own.flatMap(({ records }) => records),
        known.rows[0].no,
      )
      const plainMs = await timed(() => copyAll(plain.store, tables))
      turns.push({ ms, plainMs, events: own.reduce((sum, { records }) => sum + records.length, 0) })
    }
    const counted = turns.slice(WARM_UP)
    const sum = (of: 'ms' | 'plainMs' | 'events') =>
      counted.reduce((total, turn) => total + turn[of], 0)
    const ratio = sum('plainMs') / sum('ms')
    const perSecond = Math.round((1_000 * sum('events')) / sum('ms'))
    const differing = await countDiffering(ours.store, plain.store)
    return [
      {
        what: `writing ${sum('events').toLocaleString('en')} reports that were read, ${SLICE} a transaction, against one plain COPY of the same rows into the same tables`,
        measured: `${ratio.toFixed(2)} of its speed, ${perSecond.toLocaleString('en')} reports/s`,
        limit: `at least ${LEAST_RATIO}`,
        pass: ratio >= LEAST_RATIO,
      },
      {
        what: 'rows in which the two databases differ',
        measured: String(differing),
        limit: '0',
        pass: differing === 0,
      },
    ]
  } finally {
    await ours.drop()
    await plain.drop()
  }
}

function slicesOf(days: number): Slice[] {
  const slices: Slice[] = []
  for (const [topic, logged] of Map.groupBy(plantRecords(days), ({ station }) => station)) {
    const place = { topic, partition: 0 }
    const records = logged.map(({ key, value }, i) =>
      readRecord({ ...place, offset: BigInt(i), key, value }, topic, 0),
    )
    for (let at = 0; at < records.length; at += SLICE)
      slices.push({ ...place, projection: 'bench', records: records.slice(at, at + SLICE) })
  }
  // Each turn has some of every station.
  return slices.sort((a, b) => Number(a.records[0]!.offset - b.records[0]!.offset))
}

/** Rows of one that are not in the other, over all tables. */
async function countDiffering(ours: Store, plain: Store): Promise<number> {
  let differing = 0
  for (const table of ['thing', 'statement', 'fact', 'set_aside']) {
    const digests = async ({ pool }: Store) => {
      const { rows } = await pool.query(`select md5(row::text) as digest from ${table} as row`)
      return new Set(rows.map(({ digest }) => digest))
    }
    const [one, other] = [await digests(ours), await digests(plain)]
    for (const digest of one) if (!other.delete(digest)) differing++
    differing += other.size
  }
  return differing
}

if (import.meta.main) {
  report(await measureWrite(process.argv[2] ? Number(process.argv[2]) : DAYS))
  process.exit()
}
