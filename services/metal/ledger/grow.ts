// Typed arrays that grow.

type Typed = Int32Array | Uint32Array | Uint16Array | Float64Array

/** The array itself while it has `length` places, else a copy with that and a quarter more. */
export function grown<T extends Typed>(array: T, length: number): T {
  return length <= array.length ? array : resized(array, fourfold(length + length / 4))
}

/** A copy with as much as `length` takes and a little more, so that the next one still fits. */
export function trimmed<T extends Typed>(array: T, length: number): T {
  return resized(array, fourfold(length + length / 128))
}

/** A copy with exactly `length` places; new ones hold 0. */
export function resized<T extends Typed>(array: T, length: number): T {
  const copy = new (array.constructor as new (length: number) => T)(length)
  copy.set(array.subarray(0, length))
  return copy
}

// A multiple of four, so that numbers of 64 bits can share the memory.
function fourfold(length: number): number {
  return 4 * Math.ceil(length / 4 + 4)
}
