import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { withCluster } from '../log/real-broker.ts'
import { newFolder } from '../stations/folders.ts'
import { type OwnPostgres, ownPostgres } from '../store/own-postgres.ts'
import { backUp, brokersAway, databaseOutage, fullDisk, restore } from './outages.ts'

const reason = typeof ownPostgres === 'string' ? ownPostgres : undefined
if (reason) console.log(`Outages of a database are not tested. ${reason}`)

if (reason && process.env.REQUIRE_POSTGRES === '1')
  test('has a database server to stop', () => {
    throw new Error(reason)
  })

describe.skipIf(reason !== undefined)('A database', () => {
  let postgres: OwnPostgres
  beforeAll(async () => {
    if (typeof ownPostgres !== 'string') postgres = await ownPostgres()
  })
  afterAll(() => postgres?.drop())

  test('stopped at once and started again has everything once', async () => {
    const stop = async () => {
      await postgres.stopAtOnce()
      await postgres.start()
    }
    const { prints, off } = await databaseOutage(postgres, await newFolder(), stop, 3)
    expect(off).toBe(0)
    expect(prints[0]).toBe(prints[1])
  })

  test('frozen for a while has everything once', async () => {
    const freeze = async () => {
      await postgres.freeze()
      await new Promise((done) => setTimeout(done, 700))
      await postgres.thaw()
    }
    const { prints, off } = await databaseOutage(postgres, await newFolder(), freeze, 2)
    expect(off).toBe(0)
    expect(prints[0]).toBe(prints[1])
  })

  test('put back to an earlier state under a running genealogy catches up by itself', async () => {
    const rounds = [backUp, restore, async () => undefined]
    const outage = async (store: Parameters<typeof backUp>[0]) => rounds.shift()!(store)
    const { prints, off } = await databaseOutage(postgres, await newFolder(), outage, 3)
    expect(off).toBe(0)
    expect(prints[0]).toBe(prints[1])
  })
})

test('a disk that fills up refuses aloud, and has all that was acknowledged when there is room', async ({
  skip,
}) => {
  const folder = await newFolder()
  const full = await fullDisk(folder, 1)
  if (!full) return skip('nothing may be mounted here')
  expect(full.refusal).toMatch(/The log could not write .*ENOSPC.*free the disk/)
  expect(full.acknowledged).toBeGreaterThan(500)
  expect(full.lost).toBe(0)
})

withCluster('Brokers that go away', { brokers: 1 }, (cluster) => {
  test('have everything when they are back: the door has kept it', async () => {
    const folder = await newFolder()
    const order = { awayMs: 2_000, perSecond: 100 }
    const { acknowledged, lost } = await brokersAway(cluster(), folder, order)
    expect(acknowledged).toBeGreaterThan(100)
    expect(lost).toBe(0)
  })
})
