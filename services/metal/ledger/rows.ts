// Rows of 64 numbers, one for each replicate, and the two things done to them. The vector units of the
// machine do four at once; `test/metal/rows.test.ts` holds them to the same in plain words.

import {
  add,
  addScalar,
  compiled,
  type Func,
  get,
  lane,
  load,
  memory,
  mul,
  put,
  splat,
  store,
  sub,
  tee,
} from './wasm.ts'

export const REPLICATES = 64
const BYTES = 4 * REPLICATES
const PAGE_BYTES = 65_536
/** Offsets of what the machine takes at once. */
const STEPS = Array.from({ length: BYTES / 16 }, (_, k) => 16 * k)

/** What is done to rows, each given by its number of bytes from the beginning. */
export interface RowOps {
  /** a += g·x + h·n; m += e·n */
  pour(a: number, m: number, x: number, n: number, g: number, h: number, e: number): void
  /** c = (a − share·m)·factor; gives the sum of squares. */
  tap(c: number, a: number, m: number, share: number, factor: number): number
}

const POUR: Func = (() => {
  const [a, m, x, n, g, h, e] = [0, 1, 2, 3, 4, 5, 6]
  const [gs, hs, es, noise] = [7, 8, 9, 10]
  return {
    name: 'pour',
    takes: ['i32', 'i32', 'i32', 'i32', 'f32', 'f32', 'f32'],
    gives: [],
    locals: ['v128', 'v128', 'v128', 'v128'],
    code: [
      ...[...get(g), ...splat, ...put(gs)],
      ...[...get(h), ...splat, ...put(hs)],
      ...[...get(e), ...splat, ...put(es)],
      ...STEPS.flatMap((at) => [
        ...get(a),
        ...[...get(a), ...load(at)],
        ...[...get(x), ...load(at), ...get(gs), ...mul, ...add],
        ...[...get(n), ...load(at), ...tee(noise), ...get(hs), ...mul, ...add],
        ...store(at),
        ...get(m),
        ...[...get(m), ...load(at)],
        ...[...get(noise), ...get(es), ...mul, ...add],
        ...store(at),
      ]),
    ],
  }
})()

const TAP: Func = (() => {
  const [c, a, m, share, factor] = [0, 1, 2, 3, 4]
  const [shares, factors, row, sum] = [5, 6, 7, 8]
  return {
    name: 'tap',
    takes: ['i32', 'i32', 'i32', 'f32', 'f32'],
    gives: ['f32'],
    locals: ['v128', 'v128', 'v128', 'v128'],
    code: [
      ...[...get(share), ...splat, ...put(shares)],
      ...[...get(factor), ...splat, ...put(factors)],
      ...STEPS.flatMap((at) => [
        ...get(c),
        ...[...get(a), ...load(at)],
        ...[...get(m), ...load(at), ...get(shares), ...mul, ...sub],
        ...[...get(factors), ...mul, ...tee(row)],
        ...store(at),
        ...[...get(row), ...get(row), ...mul, ...get(sum), ...add, ...put(sum)],
      ]),
      ...[0, 1, 2, 3].flatMap((k) => [...get(sum), ...lane(k), ...(k > 0 ? addScalar : [])]),
    ],
  }
})()

const over = compiled([POUR, TAP])

/** Rows that can be taken and given back; row 0 is 0 throughout. */
export class Rows {
  readonly #memory = memory(8)
  readonly ops = over(this.#memory) as RowOps
  #free: number[] = []
  #end = BYTES

  /** A row that holds whatever it held; its number of bytes from the beginning. */
  take(): number {
    const free = this.#free.pop()
    if (free !== undefined) return free
    const row = this.#end
    this.#end += BYTES
    const short = this.#end - this.#memory.buffer.byteLength
    if (short > 0) this.#memory.grow(Math.ceil((short + this.#end / 4) / PAGE_BYTES))
    return row
  }

  give(row: number): void {
    this.#free.push(row)
  }

  /** The first row never taken; setting it back gives back all from there on. */
  get end(): number {
    return this.#end
  }

  set end(row: number) {
    this.#end = row
    this.#free = []
  }

  clear(row: number): void {
    this.ops.tap(row, 0, 0, 0, 0)
  }

  copy(row: number, from: number): void {
    this.ops.tap(row, from, 0, 0, 1)
  }

  /** The numbers of a row, to read or set at once. */
  at(row: number): Float32Array {
    return new Float32Array(this.#memory.buffer, row, REPLICATES)
  }
}
