// Brokers away for a minute, a database stopped at once, frozen and put back to an earlier state, a
// process frozen inside a transaction, a disk that fills up: what is lost, and how long it takes.
// npm run prove takes it in; by itself: node services/run.mjs test/bench/outages.bench.ts
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { ownCluster } from '../log/real-broker.ts'
import {
  backUp,
  brokersAway,
  type DatabaseOutage,
  databaseOutage,
  frozenOwner,
  fullDisk,
  restore,
} from '../serve/outages.ts'
import { type OwnPostgres, ownPostgres } from '../store/own-postgres.ts'
import { type Finding, report } from './finding.ts'

const AWAY_MS = 60_000
const FROZEN_MS = 20_000
const MEBIBYTE = 2 ** 20

/** Throws where there is no Java with Maven, or no PostgreSQL to start. */
export async function measureOutages(): Promise<Finding[]> {
  const folders: string[] = []
  const newFolder = async () => {
    const folder = await mkdtemp(join(tmpdir(), 'outage-'))
    folders.push(folder)
    return folder
  }
  try {
    return [
      ...(await ofBrokers(await newFolder())),
      ...(await ofDatabase(newFolder)),
      ...(await ofDisk(await newFolder())),
    ]
  } finally {
    for (const folder of folders) await rm(folder, { recursive: true, force: true })
  }
}

async function ofBrokers(folder: string): Promise<Finding[]> {
  const start = await ownCluster({ brokers: 1 })
  if (typeof start === 'string') throw new Error(start)
  const cluster = await start()
  try {
    const away = await brokersAway(cluster, folder, { awayMs: AWAY_MS, perSecond: 50 })
    const grown = away.grownBytes / MEBIBYTE
    return [
      none(
        `brokers away ${AWAY_MS / 1_000} s, of ${away.acknowledged} acknowledged lost`,
        away.lost,
      ),
      atMost('all sent on after they answered again', away.drainedMs / 1_000, 30, 's'),
      atMost('grown in memory meanwhile', grown, 20, 'MiB'),
    ]
  } finally {
    await cluster.stop()
  }
}

async function ofDatabase(newFolder: () => Promise<string>): Promise<Finding[]> {
  if (typeof ownPostgres === 'string') throw new Error(ownPostgres)
  const postgres = await ownPostgres()
  try {
    const stop = async () => {
      await postgres.stopAtOnce()
      await postgres.start()
    }
    const freeze = async () => {
      await postgres.freeze()
      await pause(FROZEN_MS)
      await postgres.thaw()
    }
    const rounds = [backUp, restore]
    return [
      ...whole('database stopped at once 10 times', await outage(postgres, newFolder, stop, 10)),
      ...whole(
        `database frozen ${FROZEN_MS / 1_000} s`,
        await outage(postgres, newFolder, freeze, 1),
      ),
      ...whole(
        'database put back to an earlier state',
        await outage(postgres, newFolder, (store) => rounds.shift()!(store), 2),
        75,
      ),
      atMost(
        'a partition stays with a process frozen inside a transaction',
        (await frozenOwner(postgres, await newFolder())) / 1_000,
        20,
        's',
      ),
    ]
  } finally {
    await postgres.drop()
  }
}

async function outage(
  postgres: OwnPostgres,
  newFolder: () => Promise<string>,
  what: Parameters<typeof databaseOutage>[2],
  rounds: number,
): Promise<DatabaseOutage> {
  return databaseOutage(postgres, await newFolder(), what, rounds)
}

async function ofDisk(folder: string): Promise<Finding[]> {
  const full = await fullDisk(folder, 8)
  if (!full) throw new Error('No small disk can be mounted here: it takes the right to mount.')
  return [none(`disk full: of ${full.acknowledged} acknowledged lost`, full.lost)]
}

function whole(what: string, { records, off, prints, caughtUpMs }: DatabaseOutage, mostS = 20) {
  const same = prints[0] === prints[1] ? 0 : 1
  return [
    none(`${what}: rows of ${records} records missing, doubled or other than rebuilt`, off + same),
    atMost(`${what}: caught up`, caughtUpMs / 1_000, mostS, 's'),
  ]
}

function none(what: string, measured: number): Finding {
  return { what, measured: String(measured), limit: '0', pass: measured === 0 }
}

function atMost(what: string, measured: number, most: number, unit: string): Finding {
  const [is, may] = [`${measured.toFixed(1)} ${unit}`, `at most ${most} ${unit}`]
  return { what, measured: is, limit: may, pass: measured <= most }
}

if (import.meta.main) {
  report(await measureOutages())
  process.exit()
}
