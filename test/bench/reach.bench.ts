// Measures following one lot through everything, with its ends and its gaps, against plain
// reachability by a recursive query in PostgreSQL, on the same plant in the same run.
// npm run prove takes it in; by itself: node test/bench/reach.bench.ts [heats …]
import { connect, type Store } from '../../services/store/connect.ts'
import { type Finding, fastest, report } from './finding.ts'
import { SyntheticPlant } from './plant-ledger.ts'

const SERVER = process.env.HEAT_TO_PAN_TEST_POSTGRES ?? 'postgres://postgres@127.0.0.1:5432'
const ROUNDS = 5
const ROWS = 50_000

/** Everything that can be reached at all: slots stand as they are, cells below 0. */
const WALK = `
  with recursive reached as (
    select $1::int as node
    union
    select link.target from link join reached on link.source = reached.node
  )
  select count(*)::int as things from reached`

export async function measureReach(heats: number): Promise<Finding[]> {
  const plant = new SyntheticPlant(heats)
  plant.load()
  const lot = plant.lot(2, Math.floor(heats / 2))
  const exact = await fastest(ROUNDS, () => plant.ledger.forward([[lot, 1]]))
  const whole = await fastest(ROUNDS, () => follow(plant, lot))
  const name = `bench_reach_${process.pid}`
  const server = await connect({ url: `${SERVER}/postgres` })
  await server.pool.query(`create database ${name}`)
  const store = await connect({ url: `${SERVER}/${name}` })
  try {
    const links = await layLinks(store, plant)
    let things = 0
    const theirs = await fastest(2, async () => {
      things = (await store.pool.query<{ things: number }>(WALK, [lot])).rows[0]!.things
    })
    const against = (ms: number) =>
      `${ms.toFixed(1)} ms against ${theirs.toFixed(0)} ms, ${(theirs / ms).toFixed(0)}×`
    return [
      {
        what: `exact shares of one lot over ${heats.toLocaleString('en')} heats, ${links.toLocaleString('en')} links, against reachability in PostgreSQL`,
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
    ]
  } finally {
    await store.close()
    await server.pool.query(`drop database ${name} with (force)`)
    await server.close()
  }
}

/** What a reach asks of the ledger: best, both ends, unrecorded metal that could be it; counts pours. */
function follow(plant: SyntheticPlant, lot: number): number {
  const { ledger } = plant
  const seeds: [number, number][] = [[lot, 1]]
  ledger.forward(seeds)
  ledger.forward(seeds, { lean: 'low' })
  const high = ledger.forward(seeds, { lean: 'high' })
  const gaps = ledger.forward([], { gaps: { from: plant.heat(plant.heats >> 1).at } })
  let pours = 0
  for (let heat = 0; heat < plant.heats; heat++) {
    for (let tap = 0; tap < 4; tap++) {
      const slot = plant.pourSlot(heat, tap)
      if (high[slot]! + gaps[slot]! >= 0.001) pours++
    }
  }
  return pours
}

/** Slots feed the cells that read them, cells the slots they write and the next cell of their vessel. */
async function layLinks(store: Store, plant: SyntheticPlant): Promise<number> {
  await store.pool.query('create unlogged table link (source int not null, target int not null)')
  const last = new Map<number, number>()
  let [sources, targets]: [number[], number[]] = [[], []]
  let [cell, links] = [0, 0]
  const flush = async () => {
    links += sources.length
    await store.pool.query('insert into link select * from unnest($1::int[], $2::int[])', [
      sources,
      targets,
    ])
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
  await store.pool.query('create index on link (source) include (target)')
  await store.pool.query('vacuum analyze link')
  return links
}

if (import.meta.main) {
  const sizes = process.argv.slice(2).map(Number)
  for (const heats of sizes.length > 0 ? sizes : [25_000, 250_000])
    report(await measureReach(heats))
}
