// One connection to the simulated database: what is asked over it, one thing after the other, and the
// transaction it may be in.
import { type Database, type Position, type Row, sqlError } from './database.ts'
import type { Life } from './world.ts'

const IDLE_MS = 15_000

export class Session {
  broken = false
  readonly #database: Database
  readonly #life: Life
  #undo: (() => void)[] | undefined
  /** What the transaction has written so far. */
  #rows: { table: string; key: string; row: Row }[] = []
  #positions = new Map<string, Position>()
  #locked = new Set<string>()
  /** How many rows there were at the savepoint. */
  #saved = 0
  #failed = false
  #heard = 0
  #last: Promise<unknown> = Promise.resolve()

  constructor(database: Database, life: Life) {
    this.#database = database
    this.#life = life
    database.sessions.add(this)
    // The server hears of a dead client a moment later.
    life.onDeath(() => database.world.later(database.world.between(0, 300), () => this.breakOff()))
  }

  release(): void {
    this.breakOff()
  }

  /** The server forgets it, and all that it has not committed. */
  breakOff(): void {
    this.broken = true
    this.#database.sessions.delete(this)
    this.#end()
  }

  query(text: string, values: unknown[] = []) {
    return this.#ask(() => this.#answer(text.trim(), values), /^begin|^rollback/.test(text))
  }

  insert(table: string, rows: readonly Row[]) {
    return this.#ask(async () => this.#insert(table, rows), false)
  }

  number(things: readonly string[]): Promise<Map<string, number>> {
    return this.#ask(async () => {
      const { things: known } = this.#database.held
      for (const each of things) if (!known.has(each)) known.set(each, known.size + 1)
      return new Map(things.map((each) => [each, known.get(each)!]))
    }, false)
  }

  /** One after the other, as they are asked. */
  #ask<T>(answer: () => Promise<T>, allowedWhenFailed: boolean): Promise<T> {
    const asked = this.#last.then(() => this.#travel(answer, allowedWhenFailed))
    this.#last = asked.catch(() => undefined)
    return asked
  }

  /** There and back, either of which may fail. */
  async #travel<T>(answer: () => Promise<T>, allowedWhenFailed: boolean): Promise<T> {
    const { faults, world } = this.#database
    await this.#life.act(0.02, 1)
    this.#assertOpen()
    if (world.chance(faults.before)) this.#lose()
    if (this.#failed && !allowedWhenFailed) throw sqlError('25P02', 'the transaction is aborted')
    let result: T
    try {
      result = await answer()
    } catch (error) {
      this.#failed = this.#undo !== undefined
      throw error
    }
    if (world.chance(faults.after)) this.#lose()
    await this.#life.act(0.02, 1)
    this.#assertOpen()
    this.#watchIdle()
    return result
  }

  #assertOpen(): void {
    if (this.broken || this.#database.away) this.#lose()
  }

  #lose(): never {
    this.breakOff()
    throw sqlError('08006', 'Connection terminated unexpectedly')
  }

  /** A client that stays away inside a transaction is put out, so that it holds no lock for ever. */
  #watchIdle(): void {
    const heard = ++this.#heard
    if (!this.#undo) return
    this.#database.world.later(IDLE_MS, () => {
      if (this.#heard === heard && this.#undo) this.breakOff()
    })
  }

  async #answer(text: string, values: unknown[]) {
    const [topic, partition] = values as [string, number]
    const key = `${topic}/${partition}`
    if (text.startsWith('begin')) return this.#begin()
    if (text === 'commit') return this.#commit()
    if (text === 'rollback') return this.#end()
    if (text.startsWith('savepoint')) return this.#save()
    if (text.startsWith('release savepoint')) return NOTHING
    if (text.startsWith('rollback to savepoint')) return this.#toSavepoint()
    if (/^select next_offset.*from position/s.test(text)) return this.#position(key, text)
    // That a partition stands still is for those who answer, of whom there are none here.
    if (/stopped\)|set stopped/.test(text)) return NOTHING
    if (text.startsWith('insert into position')) return this.#firstPosition(key, values)
    if (text.startsWith('update position')) return this.#movePosition(key, values)
    if (/^select topic, partition, next_offset/.test(text)) return this.#allPositions()
    if (text.startsWith('select source, id, hash from statement'))
      return this.#find('statement', values)
    if (text.startsWith('select bytes from set_aside')) return this.#find('set_aside', values)
    this.#database.offences.push(`asked what it does not know: ${text}`)
    throw new Error('unknown statement')
  }

  #begin() {
    this.#undo = []
    this.#rows = []
    this.#positions = new Map()
    return NOTHING
  }

  #commit() {
    const { held, offences } = this.#database
    if (this.#failed) return this.#end()
    for (const { table, key } of this.#rows)
      if (held.rows.get(table)?.has(key)) this.#refuseKey(table, key)
    for (const [key, position] of this.#positions) {
      const before = held.positions.get(key)?.next ?? 0n
      if (position.next < before)
        offences.push(`${key} went back from ${before} to ${position.next}`)
      held.positions.set(key, position)
    }
    for (const { table, key, row } of this.#rows) {
      const rows = held.rows.get(table) ?? new Map<string, Row>()
      held.rows.set(table, rows.set(key, row))
    }
    return this.#end()
  }

  #end() {
    for (const key of this.#locked) this.#database.unlock(key, this)
    this.#locked.clear()
    this.#undo = undefined
    this.#rows = []
    this.#positions = new Map()
    this.#failed = false
    return NOTHING
  }

  #save() {
    this.#saved = this.#rows.length
    return NOTHING
  }

  #toSavepoint() {
    this.#rows.length = this.#saved
    this.#failed = false
    return NOTHING
  }

  async #lock(key: string): Promise<void> {
    await this.#database.lock(key, this)
    this.#locked.add(key)
  }

  async #position(key: string, text: string) {
    if (text.includes('for update') && this.#seen(key)) await this.#lock(key)
    const position = this.#seen(key)
    return { rows: position ? [{ ...position, next: String(position.next) }] : [] }
  }

  #seen(key: string): Position | undefined {
    return this.#positions.get(key) ?? this.#database.held.positions.get(key)
  }

  async #firstPosition(key: string, values: unknown[]) {
    await this.#lock(key)
    if (!this.#seen(key)) this.#positions.set(key, { next: 0n, projection: values[2] as string })
    return NOTHING
  }

  async #movePosition(key: string, values: unknown[]) {
    await this.#lock(key)
    const position = this.#seen(key)!
    this.#positions.set(key, { ...position, next: values[2] as bigint })
    return NOTHING
  }

  #allPositions() {
    const rows = [...this.#database.held.positions].map(([key, { next, projection }]) => {
      const [topic, partition] = key.split('/')
      return { topic, partition: Number(partition), next: String(next), projection }
    })
    return { rows }
  }

  #find(table: string, values: unknown[]) {
    const row = this.#database.held.rows.get(table)?.get(values.join('/'))
    return { rows: row ? [row] : [] }
  }

  #insert(table: string, rows: readonly Row[]) {
    for (const row of rows) {
      // As PostgreSQL does: no text may hold it.
      if (JSON.stringify(row, plain).includes('\\u0000'))
        throw sqlError('22P05', 'unsupported Unicode escape sequence')
      const { topic, partition, offset, n } = row
      const key = [topic, partition, offset, ...(n === undefined ? [] : [n])].join('/')
      if (this.#database.held.rows.get(table)?.has(key)) this.#refuseKey(table, key)
      this.#rows.push({ table, key, row })
    }
  }

  #refuseKey(table: string, key: string): never {
    this.#database.offences.push(`${table} was given ${key} twice`)
    throw sqlError('23505', 'duplicate key value violates unique constraint')
  }
}

const NOTHING = { rows: [] as Row[] }

function plain(_: string, value: unknown): unknown {
  if (typeof value === 'bigint') return String(value)
  return value instanceof Uint8Array ? '' : value
}
