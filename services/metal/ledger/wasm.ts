// A few words of WebAssembly, put together when the program starts: there is no build step, and what the
// machine runs stands here in full. Opcodes after the WebAssembly core specification 2.0, 5.4 and 5.5.

type Code = number[]

/** A number in as few bytes as it takes (LEB128, unsigned). */
const whole = (n: number): Code => (n < 0x80 ? [n] : [(n & 0x7f) | 0x80, ...whole(n >>> 7)])
const listed = (items: Code[]): Code => [...whole(items.length), ...items.flat()]
const sized = (code: Code): Code => [...whole(code.length), ...code]
const text = (word: string): Code => sized([...new TextEncoder().encode(word)])
const section = (id: number, items: Code[]): Code => [id, ...sized(listed(items))]
const vector = (op: number): Code => [0xfd, ...whole(op)]

export const TYPE = { i32: 0x7f, f32: 0x7d, v128: 0x7b } as const
export type Type = keyof typeof TYPE

export const get = (local: number): Code => [0x20, ...whole(local)]
export const put = (local: number): Code => [0x21, ...whole(local)]
/** Puts and leaves the value where it is. */
export const tee = (local: number): Code => [0x22, ...whole(local)]
export const addScalar: Code = [0x92]
/** Four numbers of 32 bits at an address and `offset` bytes. */
export const load = (offset: number): Code => [...vector(0x00), 4, ...whole(offset)]
export const store = (offset: number): Code => [...vector(0x0b), 4, ...whole(offset)]
export const splat = vector(0x13)
export const lane = (k: number): Code => [...vector(0x1f), k]
export const add = vector(0xe4)
export const sub = vector(0xe5)
export const mul = vector(0xe6)

export interface Func {
  name: string
  takes: Type[]
  gives: Type[]
  /** Further locals, numbered after what it takes. */
  locals: Type[]
  code: Code
}

/** Memory that grows, in pages of 64 KiB. */
export interface Memory {
  readonly buffer: ArrayBuffer
  grow(pages: number): void
}

// What of the standard interface is used; the types of Node leave it to those of browsers.
declare namespace WebAssembly {
  class Module {
    constructor(bytes: Uint8Array)
  }
  class Memory {
    readonly buffer: ArrayBuffer
    constructor(size: { initial: number })
    grow(pages: number): void
  }
  class Instance {
    readonly exports: object
    constructor(module: Module, imports: { rows: { memory: Memory } })
  }
}

export const memory = (pages: number): Memory => new WebAssembly.Memory({ initial: pages })

/** These functions, compiled; call it with the memory they are to work on. */
export function compiled(functions: readonly Func[]): (memory: Memory) => object {
  const types = functions.map(({ takes, gives }) => [
    0x60,
    ...listed(takes.map((type) => [TYPE[type]])),
    ...listed(gives.map((type) => [TYPE[type]])),
  ])
  const bodies = functions.map(({ locals, code }) =>
    sized([...listed(locals.map((type) => [1, TYPE[type]])), ...code, 0x0b]),
  )
  const exports = functions.map(({ name }, k) => [...text(name), 0, ...whole(k)])
  const module = new WebAssembly.Module(
    Uint8Array.from([
      ...[0x00, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
      ...section(1, types),
      ...section(2, [[...text('rows'), ...text('memory'), 2, 0, 1]]),
      ...section(
        3,
        functions.map((_, k) => whole(k)),
      ),
      ...section(7, exports),
      ...section(10, bodies),
    ]),
  )
  return (memory) => new WebAssembly.Instance(module, { rows: { memory } }).exports
}
