// Chance with a memory: the same seed gives the same foundry, always.
//
// xoshiro128** 1.1 by David Blackman and Sebastiano Vigna, "Scrambled linear pseudorandom number
// generators", ACM Trans. Math. Softw. 47 (2021); reference code prng.di.unimi.it/xoshiro128starstar.c.

export interface Random {
  /** 0 to 2^32 − 1. */
  word(): number
  /** 0 included, 1 not. */
  unit(): number
  between(low: number, high: number): number
  /** A whole number, both ends included. */
  whole(low: number, high: number): number
  chance(probability: number): boolean
  normal(mean: number, spread: number): number
  pick<T>(list: readonly T[]): T
}

/** A stream of its own for each name, so that a draw more in one area moves nothing in another. */
export function randomOf(seed: number, name: string): Random {
  // FNV-1a over the name, from the seed on; then each word through the finalizer of MurmurHash3.
  let hash = Math.imul(seed ^ 0x811c9dc5, 0x01000193)
  for (let i = 0; i < name.length; i++) hash = Math.imul(hash ^ name.charCodeAt(i), 0x01000193)
  const word = () => {
    hash = (hash + 0x9e3779b9) | 0
    let mixed = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b)
    mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35)
    return mixed ^ (mixed >>> 16)
  }
  return random(word(), word(), word(), word() | 1)
}

/** The generator from a state of four words, not all of them 0. */
export function random(a: number, b: number, c: number, d: number): Random {
  function word(): number {
    const turned = Math.imul(b, 5)
    const result = Math.imul((turned << 7) | (turned >>> 25), 9)
    const shifted = b << 9
    c ^= a
    d ^= b
    b ^= c
    a ^= d
    c ^= shifted
    d = (d << 11) | (d >>> 21)
    return result >>> 0
  }
  const unit = () => word() / 0x1_0000_0000
  return {
    word,
    unit,
    between: (low, high) => low + (high - low) * unit(),
    whole: (low, high) => low + Math.floor((high - low + 1) * unit()),
    chance: (probability) => unit() < probability,
    // Box and Muller; the second value is let go so that nothing is remembered between draws.
    normal: (mean, spread) =>
      mean + spread * Math.sqrt(-2 * Math.log(1 - unit())) * Math.cos(2 * Math.PI * unit()),
    pick: (list) => list[Math.floor(list.length * unit())]!,
  }
}

/** Takes some of a heap without looking. */
export function draw<T>(random: Random, heap: T[], count: number): T[] {
  if (count >= heap.length) return heap.splice(0)
  const taken: T[] = []
  for (let i = 0; i < count; i++) {
    const at = Math.floor(heap.length * random.unit())
    taken.push(heap[at]!)
    heap[at] = heap[heap.length - 1]!
    heap.pop()
  }
  return taken
}
