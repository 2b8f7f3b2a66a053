// Measures following one lot through everything, with its ends and its gaps, against plain
// reachability by a recursive query in PostgreSQL, on the same plant in the same run.
// npm run prove takes it in; by itself: node test/bench/reach.bench.ts [heats …]
import { connect, type Store } from '../../services/store/connect.ts'
import { migrate } from '../../services/store/migrate.ts'
import { type Finding, fastest, report } from './finding.ts'
import { SyntheticPlant } from './plant-ledger.ts'

const SERVER = process.env.HEAT_TO_PAN_TEST_POSTGRES ?? 'postgres://postgres@127.0.0.1:5432'
const ROUNDS = 5
const ROWS = 50_000

/** Everything that can be reached at all, over the facts as the store keeps them. */
const WALK = `
  with recursive reached as (
    select $1::int as no
    union
    select fact.of_no from fact join reached on fact.other_no = reached.no
  )
  select count(*)::int as things from reached`

const INSERT = `
  insert into fact (topic, partition, "offset", n, what, of_no, other_no, amount, at)
  select 'melt', 0, $1 + row_number() over (), 0, 'charge-line', target, source, 1000, 0
  from unnest($2::int[], $3::int[]) as link (source, target)`

export async function measureReach(heats: number): Promise<Finding[]> {
  const plant = new SyntheticPlant(heats)
  plant.load()
  const lot = plant.lot(2, Math.floor(heats / 2))
  let into: Float64Array | undefined
  const exact = await fastest(ROUNDS, () => {
    into = plant.ledger.forward([[lot, 1]], { into })
  })
  const whole = await fastest(ROUNDS, () => follow(plant, lot))
  const doubted = await fastest(ROUNDS, () => plant.ledger.follow([lot], { doubt: true }))
  const name = `bench_reach_${process.pid}`
  const server = await connect({ url: `${SERVER}/postgres` })
  await server.pool.query(`create database ${name}`)
  const store = await connect({ url: `${SERVER}/${name}` })
  try {
    const facts = await layFacts(store, plant)
    let things = 0
    const theirs = await fastest(2, async () => {
      things = (await store.pool.query<{ things: number }>(WALK, [lot])).rows[0]!.things
    })
    const against = (ms: number) =>
      `${ms.toFixed(1)} ms against ${theirs.toFixed(0)} ms, ${(theirs / ms).toFixed(0)}×`
    return [
      {
        what: `exact shares of one lot over ${heats.toLocaleString('en')} heats, ${facts.toLocaleString('en')} facts, against reachability in PostgreSQL`,
        measured: against(exact),
        limit: '≥ 100×',
        pass: theirs / exact >= 100,
      },
      {
        what: `the same with both ends and what is unrecorded: ${follow(plant, lot)} pours to hold at 1 in 1,000, where ${things.toLocaleString('en')} things can be reached`,
        measured: against(whole),
        limit: '',
        pass: true,
      },
      {
        what: `the same with intervals for errors of weighing, by 64 replicates`,
        measured: `${doubted.toFixed(0)} ms`,
        limit: '≤ 500 ms',
        pass: doubted <= 500,
      },
    ]
  } finally {
    await store.close()
    await server.pool.query(`drop database ${name} with (force)`)
    await server.close()
  }
}

/** What a reach asks of the ledger: best, both ends, unrecorded metal that could be it; counts pours. */
function follow(plant: SyntheticPlant, lot: number): number {
  const spanOf = plant.ledger.follow([lot], { gapsFrom: plant.heat(plant.heats >> 1).at })
  let pours = 0
  for (let heat = 0; heat < plant.heats; heat++) {
    for (let tap = 0; tap < 4; tap++) {
      const { high, gap } = spanOf(plant.pourSlot(heat, tap))
      if (high + gap >= 0.001) pours++
    }
  }
  return pours
}

/** Slots feed the cells that read them, cells the slots they write and the next cell of their vessel. */
async function layFacts(store: Store, plant: SyntheticPlant): Promise<number> {
  await migrate(store)
  const last = new Map<number, number>()
  let [sources, targets]: [number[], number[]] = [[], []]
  // Slots stand as they are, cells below 0.
  let [cell, facts] = [0, 0]
  const flush = async () => {
    await store.pool.query(INSERT, [facts, sources, targets])
    facts += sources.length
    ;[sources, targets] = [[], []]
  }
  const link = (source: number, target: number) => {
    sources.push(source)
    targets.push(target)
  }
  for (const { vessel, ops } of plant.made()) {
    cell--
    const before = vessel === undefined ? undefined : last.get(vessel)
    if (before !== undefined) link(before, cell)
    if (vessel !== undefined) last.set(vessel, cell)
    for (let i = 0; i < ops.length; i += 2) {
      if (ops[i]! < 0) continue
      if (ops[i + 1]! > 0) link(ops[i]!, cell)
      else link(cell, ops[i]!)
    }
    if (sources.length >= ROWS) await flush()
  }
  await flush()
  await store.pool.query('vacuum analyze fact')
  return facts
}

if (import.meta.main) {
  const sizes = process.argv.slice(2).map(Number)
  for (const heats of sizes.length > 0 ? sizes : [25_000]) report(await measureReach(heats))
}
