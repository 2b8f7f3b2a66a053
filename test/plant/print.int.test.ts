import { spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { simulate } from '../../services/plant/plant.ts'

const ROOT = join(import.meta.dirname, '..', '..')
const print = (...args: string[]) =>
  spawnSync(process.execPath, [join(ROOT, 'services/plant/print.ts'), ...args], {
    encoding: 'utf8',
    maxBuffer: 64 * 1024 * 1024,
  })

describe('The printed reports', () => {
  it('are what the foundry reports, a line each, in the order they reach the doors', () => {
    const { status, stdout } = print('--seed', '4', '--days', '1')
    expect(status).toBe(0)
    const lines = stdout.trimEnd().split('\n')
    const { reports } = simulate({ seed: 4, days: 1 })
    expect(lines).toEqual(
      reports.map(({ body }) => (typeof body === 'string' ? body : JSON.stringify(body))),
    )
  })

  it('are not printed for a seed or a number of days that is none', () => {
    for (const args of [
      ['--seed', 'x'],
      ['--days', '0'],
      ['--days', '1.5'],
    ]) {
      const { status, stderr, stdout } = print(...args)
      expect([status, stdout]).toEqual([1, ''])
      expect(stderr).toContain('Give whole numbers')
    }
  })
})
