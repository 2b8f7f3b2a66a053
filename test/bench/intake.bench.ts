// Takes 50,000 events through the door into the embedded default, counts what came out, and asks.
// npm run prove takes it in; by itself: node test/bench/intake.bench.ts [days]
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { openHouse } from '../../services/house.ts'
import { followThing, nothingFollowed } from '../../services/metal/followed.ts'
import { Reach } from '../../services/metal/reach.ts'
import { PLANT } from '../../services/plant/names.ts'
import { simulate } from '../../services/plant/plant.ts'
import { settingsFrom } from '../../services/settings.ts'
import { type Finding, fastest, report } from './finding.ts'

const BATCH = 500
/** With this many days the foundry reports somewhat more than 50,000 times. */
const DAYS = 18

export async function measureIntake(days = DAYS): Promise<Finding[]> {
  const folder = await mkdtemp(join(tmpdir(), 'intake-'))
  try {
    const { reports, truth } = simulate({ seed: 1, days })
    const bodies = reports.map(({ body }) =>
      Buffer.from(typeof body === 'string' ? body : JSON.stringify(body)),
    )
    const settings = settingsFrom({
      HEAT_TO_PAN_DATA: folder,
      HEAT_TO_PAN_PORT: '0',
      HEAT_TO_PAN_PLANT: PLANT,
    })
    await using house = await openHouse({ settings, demo: false, tell: () => undefined })
    const count = { accepted: 0, duplicate: 0, refused: 0 }
    const began = performance.now()
    for (let i = 0; i < bodies.length; i += BATCH) {
      for (const { outcome } of await house.door.take(bodies.slice(i, i + BATCH), {
        decisions: true,
      }))
        count[outcome]++
    }
    const doorMs = performance.now() - began
    await house.settled()
    const wholeMs = performance.now() - began
    const { rows } = await house.store.pool.query<{ kept: number; aside: number }>(
      'select (select count(*) from statement)::int as kept, (select count(*) from set_aside)::int as aside',
    )
    const lost = count.accepted - rows[0]!.kept - rows[0]!.aside
    const { view } = house.snapshot.at()
    const lot = view.things.numberOf('north', truth.cause!.lot)!
    const reachMs = await fastest(7, () => {
      const followed = nothingFollowed()
      followThing(view, followed, lot)
      return new Reach(view, followed).scope({ share: 0.01 })
    })
    const each = (ms: number) =>
      `${Math.round((1000 * bodies.length) / ms).toLocaleString('en')} events/s`
    return [
      {
        what: `${bodies.length.toLocaleString('en')} events through the door in batches of ${BATCH}, each on disk before its answer`,
        measured: each(doorMs),
        limit: '',
        pass: true,
      },
      {
        what: 'the same until they can be asked for in the embedded default',
        measured: each(wholeMs),
        limit: '',
        pass: true,
      },
      {
        what: `of ${count.accepted.toLocaleString('en')} accepted, lost`,
        measured: `${lost}`,
        limit: '0',
        pass: lost === 0,
      },
      {
        what: 'one reach over them, with its castings',
        measured: `${reachMs.toFixed(1)} ms`,
        limit: '',
        pass: true,
      },
    ]
  } finally {
    await rm(folder, { recursive: true, force: true })
  }
}

if (import.meta.main) report(await measureIntake(Number(process.argv[2] ?? DAYS)))
