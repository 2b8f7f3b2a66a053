// What goes wrong in a world and how often, drawn from its seed. Each sort of fault is in some worlds
// and not in others, so that those which hide others do not hide them everywhere.
import type { BrokerFaults } from './brokers.ts'
import type { DatabaseFaults } from './database.ts'
import type { DiskFaults } from './disk.ts'
import type { World } from './world.ts'

export interface Plan {
  /** The disk of the door is the log; else it is a spool before brokers. */
  embedded: boolean
  heats: number
  spoolPartitions: number
  brokerPartitions: number
  segmentBytes: number
  /** Genealogy processes; each reads every partition. */
  readers: number
  /** Readers inside each, which share the partitions. */
  members: number
  /** Records that no door has seen. */
  smuggled: number
  /** How long things go wrong. Unit: ms. */
  troubleMs: number
  disk: DiskFaults
  database: DatabaseFaults
  brokers: BrokerFaults
  /** Mean times between; infinite where it never happens. Unit: ms. */
  doorKillMs: number
  readerKillMs: number
  freezeMs: number
  leaveMs: number
  databaseAwayMs: number
  breakMs: number
  brokersAwayMs: number
  /** Of the kills of the door. */
  powerCuts: number
  /** The database is put back to an earlier state once. */
  restored: boolean
  /** At the end the log is put back to an earlier state, and goes on with other records. */
  logRestored: boolean
}

export function planFor(world: World): Plan {
  const sometimes = (value: () => number) => (world.chance(0.5) ? value() : 0)
  const every = (least: number, most: number) =>
    world.chance(0.5) ? world.between(least, most) : Number.POSITIVE_INFINITY
  const embedded = world.chance(0.35)
  return {
    embedded,
    heats: world.whole(1, 4),
    spoolPartitions: world.whole(1, 3),
    brokerPartitions: world.whole(1, 3),
    segmentBytes: world.pick([300, 2_000, 1_000_000]),
    readers: embedded ? 1 : world.whole(1, 3),
    members: world.whole(1, 2),
    smuggled: world.whole(0, 4),
    troubleMs: world.between(5_000, 30_000),
    disk: {
      full: sometimes(() => 0.01),
      failedSync: sometimes(() => 0.02),
      death: sometimes(() => 0.03),
    },
    database: { before: sometimes(() => 0.03), after: sometimes(() => 0.03) },
    brokers: {
      lost: sometimes(() => 0.1),
      unanswered: sometimes(() => 0.15),
      late: sometimes(() => 0.1),
    },
    doorKillMs: every(800, 10_000),
    readerKillMs: every(500, 8_000),
    freezeMs: every(4_000, 15_000),
    leaveMs: every(500, 5_000),
    databaseAwayMs: every(4_000, 20_000),
    breakMs: every(1_000, 6_000),
    brokersAwayMs: every(4_000, 20_000),
    powerCuts: world.random(),
    restored: world.chance(0.3),
    logRestored: !embedded && world.chance(0.2),
  }
}
