import { describe, expect, it } from 'vitest'
import { draw, random, randomOf } from '../../services/plant/random.ts'

describe('Chance', () => {
  it('gives the numbers of the published generator', () => {
    // xoshiro128** 1.1, state 1 2 3 4: output of the reference code as listed in the tests of
    // rand_xoshiro, github.com/rust-random/rngs, rand_xoshiro/src/xoshiro128starstar.rs.
    const chance = random(1, 2, 3, 4)
    const words = Array.from({ length: 10 }, () => chance.word())
    expect(words).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597,
      4258142804,
    ])
  })

  it('gives each area a stream of its own, the same for the same seed', () => {
    const words = (seed: number, area: string) => {
      const chance = randomOf(seed, area)
      return Array.from({ length: 5 }, () => chance.word())
    }
    expect(words(1, 'yard')).toEqual(words(1, 'yard'))
    expect(words(1, 'yard')).not.toEqual(words(1, 'lab'))
    expect(words(1, 'yard')).not.toEqual(words(2, 'yard'))
  })

  it('is even, and normal where it says so', () => {
    const chance = randomOf(7, 'even')
    const count = 20_000
    let [sum, square, unit] = [0, 0, 0]
    for (let i = 0; i < count; i++) {
      const value = chance.normal(10, 2)
      sum += value
      square += (value - 10) ** 2
      unit += chance.unit()
    }
    // Four standard deviations of each mean.
    expect(Math.abs(sum / count - 10)).toBeLessThan((4 * 2) / Math.sqrt(count))
    expect(Math.abs(square / count - 4)).toBeLessThan(4 * 4 * Math.sqrt(2 / count))
    expect(Math.abs(unit / count - 0.5)).toBeLessThan(4 / Math.sqrt(12 * count))
  })

  it('draws without putting back, and takes all where more is asked than there is', () => {
    const chance = randomOf(3, 'heap')
    const heap = [1, 2, 3, 4, 5, 6, 7, 8]
    const taken = draw(chance, heap, 3)
    expect(taken).toHaveLength(3)
    expect([...taken, ...heap].sort()).toEqual([1, 2, 3, 4, 5, 6, 7, 8])
    expect(draw(chance, heap, 50)).toHaveLength(5)
    expect(heap).toEqual([])
  })
})
