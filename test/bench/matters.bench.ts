// A drill and a recall on a plant that has made a million castings, as they are decided and given out.
// npm run prove takes it in; by itself: node services/run.mjs test/bench/matters.bench.ts [days]
import { performance } from 'node:perf_hooks'
import { csvRow } from '../../services/query/files/csv.ts'
import { firstPage, rowsFrom } from '../../services/query/files/pages.ts'
import { TABLES } from '../../services/query/files/tables.ts'
import { type Finding, report } from './finding.ts'
import { PlantStore, someone } from './plant-store.ts'

/** With this many days the foundry makes more than a million castings. */
const DAYS = 88
const CASTINGS = 1_000_000
const TO_HOLD = 100_000
const LIMIT_S = 5
/** On which the foundry opens. */
const FIRST_DAY = Date.parse('2026-04-11T06:00:00-06:00')
const DAY_MS = 24 * 3_600_000
/** By chance, but the same in every run. */
const DRILLS = ['1b4e28ba-2fa1-4d01-8f4c-0c7b1a2d3e4f', '7c9e6679-7425-40de-944b-e07fc1f90ae7']

export async function measureMatters(days = DAYS): Promise<Finding[]> {
  await using plant = await PlantStore.of(days)
  // Wherever it went: what it did not touch counts, too.
  const { lots } = await plant.ask('{ lots(first: 1) { edges { node { id } } } }')
  const all = await plant.ask(
    'query ($lot: ID!) { reach(from: {things: [$lot]}, affected: {touched: true}) { ... on Reach { castings { clear toHold } } } }',
    { lot: lots.edges[0].node.id },
  )
  const castings: number = all.reach.castings.clear + all.reach.castings.toHold
  const of = `${castings.toLocaleString('en')} castings, ${plant.reports.toLocaleString('en')} reports`
  return [...(await drills(plant, of, castings)), await recall(plant, of, { castings, days })]
}

async function drills(plant: PlantStore, of: string, castings: number): Promise<Finding[]> {
  const seconds: number[] = []
  const said: string[] = []
  for (const reportId of DRILLS) {
    const began = performance.now()
    const { matter } = await plant.decide('startDrill', 'DrillInput', {}, reportId)
    const { sentence } = await plant.decide('endDrill', 'EndDrillInput', { drill: matter })
    seconds.push((performance.now() - began) / 1_000)
    said.push(sentence.replace(/^Drill \S+ is ended: /, ''))
  }
  const most = Math.max(...seconds)
  return [
    {
      what: `a drill on a pack picked by chance, started and ended, the slower of ${DRILLS.length}: ${of}`,
      measured: `${most.toFixed(1)} s (${said.join(' ')})`,
      limit: `≤ ${LIMIT_S} s on ${CASTINGS.toLocaleString('en')}`,
      pass: most <= LIMIT_S && castings >= CASTINGS,
    },
  ]
}

const REACH = `query ($lot: ID!, $share: Float!) { reach(from: {things: [$lot]}, affected: {share: $share}) {
  ... on Reach { id castings { toHold } } } }`

async function recall(
  plant: PlantStore,
  of: string,
  { castings, days }: { castings: number; days: number },
): Promise<Finding> {
  const { lot, share } = await lotToRecall(plant, days, Math.min(TO_HOLD, castings / 10))
  const began = performance.now()
  const { reach } = await plant.ask(REACH, { lot, share })
  const answered = performance.now()
  const { matter } = await plant.decide('openRecall', 'RecallInput', {
    ...{ answer: reach.id, reason: 'measured', say: 'Please keep it apart.' },
  })
  const frozen = performance.now()
  const rows = (await exported(plant, matter, 'covers')) + (await exported(plant, matter, 'calls'))
  const ended = performance.now()
  const seconds = (ended - began) / 1_000
  const part = (from: number, to: number) => `${((to - from) / 1_000).toFixed(1)} s`
  return {
    what: `a recall of ${reach.castings.toHold.toLocaleString('en')} castings: asked, frozen, and given out as ${rows.toLocaleString('en')} rows: ${of}`,
    measured: `${seconds.toFixed(1)} s (${part(began, answered)}, ${part(answered, frozen)}, ${part(frozen, ended)})`,
    limit: `≤ ${LIMIT_S} s from ${TO_HOLD.toLocaleString('en')} castings on`,
    pass: seconds <= LIMIT_S && reach.castings.toHold >= TO_HOLD,
  }
}

/** A lot of the first third of the days and a share, of a few, at which it reaches so many castings. */
async function lotToRecall(plant: PlantStore, days: number, least: number) {
  const at = (day: number) => new Date(FIRST_DAY + day * DAY_MS).toISOString()
  const window = { from: at(days / 6), to: at(days / 3 + 1) }
  const { lots } = await plant.ask(
    'query ($window: Window!) { lots(first: 200, window: $window) { edges { node { id role kg { value } } } } }',
    { window },
  )
  const metal = lots.edges
    .map(({ node }: { node: LotNode }) => node)
    .filter(({ role }: LotNode) => role === 'METALLIC')
    .sort((a: LotNode, b: LotNode) => (b.kg?.value ?? 0) - (a.kg?.value ?? 0))
  for (const { id: lot } of metal as LotNode[])
    for (const share of [0.01, 0.001, 0.0001]) {
      const { reach } = await plant.ask(REACH, { lot, share })
      if (reach.castings.toHold >= least) return { lot, share }
    }
  throw new Error('No lot reaches so many castings.')
}

interface LotNode {
  id: string
  role: string
  kg: { value: number } | null
}

/** Rows of a file, as they go out. */
async function exported(plant: PlantStore, id: string, name: string): Promise<number> {
  const wanted = {
    table: TABLES[name]!,
    id,
    schema: plant.schema,
    context: plant.context(someone('quality')),
  }
  const page = await firstPage(wanted)
  if (!page || !('edges' in page)) throw new Error(`no table of ${name}`)
  let [rows, bytes] = [0, 0]
  for await (const some of rowsFrom(wanted, page)) {
    bytes += some.map(csvRow).join('').length
    rows += some.length
  }
  if (rows !== page.totalCount || bytes === 0) throw new Error(`${name} came short`)
  return rows
}

if (import.meta.main) report(await measureMatters(Number(process.argv[2] ?? DAYS)))
