// Typed arrays that grow by doubling.

type Typed = Int32Array | Uint32Array | Uint16Array | Float64Array

/** The array itself while it has `length` places, else a copy at least twice as long. */
export function grown<T extends Typed>(array: T, length: number): T {
  return length <= array.length ? array : resized(array, Math.max(length, 2 * array.length))
}

/** A copy with exactly `length` places; new ones hold 0. */
export function resized<T extends Typed>(array: T, length: number): T {
  const copy = new (array.constructor as new (length: number) => T)(length)
  copy.set(array.subarray(0, length))
  return copy
}
