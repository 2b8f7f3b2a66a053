// A database as the write path needs one: transactions that come whole or not at all, rows that are
// locked, keys that are unique, backups; and connections that break at any point, before a statement
// has been done or after it. It knows the few statements that are asked of it and no others.
import type { Store } from '../../services/store/connect.ts'
import { Session } from './session.ts'
import type { Life, World } from './world.ts'

export interface Position {
  next: bigint
  projection: string
}

export type Row = Record<string, unknown>

/** What has been committed. */
export interface Held {
  positions: Map<string, Position>
  /** By table, and there by key. */
  rows: Map<string, Map<string, Row>>
  things: Map<string, number>
}

/** Chances of each statement that the connection breaks. */
export interface DatabaseFaults {
  before: number
  after: number
}

const LOCK_MS = 10_000

export class Database {
  held: Held = { positions: new Map(), rows: new Map(), things: new Map() }
  faults: DatabaseFaults = { before: 0, after: 0 }
  away = false
  /** What should never be asked of it: rows that are there already, positions that go back. */
  readonly offences: string[] = []
  readonly world: World
  readonly sessions = new Set<Session>()
  readonly #locks = new Map<string, { owner: Session; waiting: (() => void)[] }>()

  constructor(world: World) {
    this.world = world
  }

  /** What a process has of it. */
  storeOf(life: Life): Store {
    const pool = {
      query: (text: string, values?: unknown[]) => this.#once(life, text, values),
      connect: async () => this.#connect(life),
    }
    return { pool, embedded: false, close: async () => undefined } as unknown as Store
  }

  backUp(): Held {
    const { positions, rows, things } = this.held
    const tables = [...rows].map(([name, table]) => [name, new Map(table)] as const)
    return { positions: new Map(positions), rows: new Map(tables), things: new Map(things) }
  }

  /** Puts it back to an earlier state: whoever was connected is not any more. */
  restore(held: Held): void {
    for (const session of [...this.sessions]) session.breakOff()
    this.held = held
  }

  /** As an administrator does it, or a crash of the server. */
  breakAll(): void {
    for (const session of [...this.sessions]) session.breakOff()
  }

  async lock(key: string, session: Session): Promise<void> {
    const lock = this.#locks.get(key)
    if (!lock) return void this.#locks.set(key, { owner: session, waiting: [] })
    if (lock.owner === session) return
    let given = false
    await new Promise<void>((done, failed) => {
      lock.waiting.push(() => {
        // Whoever went while waiting leaves it to the next.
        if (session.broken) return this.unlock(key, lock.owner)
        given = true
        lock.owner = session
        done()
      })
      this.world.later(LOCK_MS, () => {
        if (given) return
        session.broken = true
        failed(sqlError('55P03', 'canceling statement due to lock timeout'))
      })
    })
  }

  unlock(key: string, session: Session): void {
    const lock = this.#locks.get(key)
    if (lock?.owner !== session) return
    const next = lock.waiting.shift()
    if (next) next()
    else this.#locks.delete(key)
  }

  async #connect(life: Life): Promise<Session> {
    await life.act(0.05, 1)
    if (this.away) throw sqlError('ECONNREFUSED', 'connect ECONNREFUSED')
    return new Session(this, life)
  }

  async #once(life: Life, text: string, values?: unknown[]) {
    const session = await this.#connect(life)
    try {
      return await session.query(text, values)
    } finally {
      session.release()
    }
  }
}

/** As PostgreSQL and its driver throw them. */
export function sqlError(code: string, message: string): Error {
  return Object.assign(new Error(message), { code })
}
