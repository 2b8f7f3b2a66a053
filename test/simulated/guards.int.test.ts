import { describe, expect, test } from 'vitest'
import { mutated, SIMULATED, TESTED } from './mutations.ts'
import { simulateWithout } from './without-guards.ts'

const SEEDS = 200

describe.concurrent('Without a guard simulated shifts go wrong:', () => {
  for (const [number, { guard }] of SIMULATED.entries())
    test(guard, async () => {
      const { noticed, by } = await simulateWithout(number, SEEDS)
      expect(noticed, by).toBe(true)
    })
})

test('guards that other tests watch over stand where they are known', () => {
  for (const mutation of TESTED) expect(mutated(mutation)).not.toBe('')
})
