import { brotliDecompressSync, gunzipSync } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { pack, packingFor } from '../../services/query/server/packing.ts'

describe('What a reader can unpack', () => {
  it.each([
    ['gzip, deflate, br, zstd', 'br'],
    ['gzip, deflate', 'gzip'],
    ['GZIP;q=0.5', 'gzip'],
    ['br;q=0, gzip', 'gzip'],
    ['br; q=0.000', undefined],
    ['identity', undefined],
    ['abrasive', undefined],
    [undefined, undefined],
  ])('%s: %s', (accepted, packing) => {
    expect(packingFor({ headers: { 'accept-encoding': accepted } })).toBe(packing)
  })

  it.each([
    ['br', brotliDecompressSync],
    ['gzip', gunzipSync],
  ] as const)('is less in %s, and the same again', async (packing, unpack) => {
    const body = Buffer.from(JSON.stringify(Array.from({ length: 1_000 }, (_, i) => ({ i }))))
    for (const pace of ['answer', 'once'] as const) {
      const packed = await pack(body, packing, pace)
      expect(packed.length).toBeLessThan(body.length / 2)
      expect(unpack(packed)).toEqual(body)
    }
  })
})
