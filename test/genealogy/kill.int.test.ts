import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { fingerprint } from '../../services/genealogy/fingerprint.ts'
import { rebuild } from '../../services/genealogy/rebuild.ts'
import { connect, type DatabasePlace } from '../../services/store/connect.ts'
import { onEachDatabase } from '../store/databases.ts'
import { shift } from './events.ts'
import { openLog, type TestLog } from './house.ts'

/** Where a process dies; each must be reached, or its test would prove nothing. */
const POINTS = [
  ['after', 'set local synchronous_commit = off;copy thing'],
  ['after', 'copy statement'],
  ['before', 'update position'],
  ['before', 'commit'],
  ['after', 'commit'],
] as const

/** Answers the signal that ended the process; null when it came to its end. */
async function run(
  house: TestLog,
  place: DatabasePlace,
  ...kill: string[]
): Promise<string | null> {
  const script = join(import.meta.dirname, 'consume-until-killed.ts')
  const child = spawn(process.execPath, [script, house.folder, JSON.stringify(place), ...kill], {
    stdio: ['ignore', 'inherit', 'inherit'],
  })
  const [code, signal] = await once(child, 'exit')
  if (code !== null) expect(code).toBe(0)
  return signal
}

onEachDatabase('A genealogy killed at any point', (database) => {
  it('has lost and doubled nothing when it has come to the end', { timeout: 300_000 }, async () => {
    await using house = await openLog()
    await house.say(shift(20))
    const folder = await mkdtemp(join(tmpdir(), 'killed-'))
    const place = database.store.embedded ? { folder: join(folder, 'database') } : database.place
    for (const [i, [when, start]] of POINTS.entries()) {
      // In the first slice of a run, or in its second.
      const signal = await run(house, place, when, start, String(i % 2))
      expect(signal, `${when} ${start}`).toBe('SIGKILL')
    }
    expect(await run(house, place)).toBeNull()
    const killed = await connect(place)
    const print = await fingerprint(killed)
    const { rows } = await killed.pool.query(
      `select count(*)::int as statements, count(distinct (source, id))::int as ids from statement`,
    )
    await killed.close()
    expect(rows).toEqual([{ statements: 120, ids: 120 }])
    await rebuild({ log: house.log, store: database.store, now: () => 0, tell: () => undefined })
    expect(await fingerprint(database.store)).toBe(print)
    await rm(folder, { recursive: true })
  })
})
