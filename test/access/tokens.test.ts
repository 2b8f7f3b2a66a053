import { createHmac } from 'node:crypto'
import { createLocalJWKSet, exportJWK, exportSPKI, generateKeyPair, type JWK, SignJWT } from 'jose'
import { afterEach, beforeAll, describe, expect, it, vi } from 'vitest'
import { NotLetIn } from '../../services/access/not-let-in.ts'
import { type TokenReader, tokenReader } from '../../services/access/tokens.ts'

// The pitfalls are those of BCP 225 (RFC 8725), https://www.rfc-editor.org/rfc/rfc8725

const RULES = {
  ...{ issuer: 'https://login.example', audience: 'heat-to-pan', hours: 24 },
  ...{ rolesClaim: 'roles', plant: 'north' },
}
const NOW_SECONDS = Math.floor(Date.now() / 1_000)
const CLAIMS = {
  ...{ sub: 'kim', iss: RULES.issuer, aud: RULES.audience, plant: 'north', roles: ['quality'] },
  ...{ iat: NOW_SECONDS, exp: NOW_SECONDS + 600 },
}

type KeyPair = Awaited<ReturnType<typeof generateKeyPair>>

let own: KeyPair
let others: KeyPair
let publicKey: JWK
let read: TokenReader

beforeAll(async () => {
  own = await generateKeyPair('ES256', { extractable: true })
  others = await generateKeyPair('ES256', { extractable: true })
  publicKey = { ...(await exportJWK(own.publicKey)), kid: 'ours', alg: 'ES256' }
  read = tokenReader({ ...RULES, keys: createLocalJWKSet({ keys: [publicKey] }) })
})

afterEach(() => void vi.useRealTimers())

function signed(claims: object = {}, header: object = {}, key = own.privateKey): Promise<string> {
  return new SignJWT({ ...CLAIMS, ...claims })
    .setProtectedHeader({ alg: 'ES256', kid: 'ours', ...header })
    .sign(key)
}

const part = (said: object) => Buffer.from(JSON.stringify(said)).toString('base64url')

describe('A token that counts', () => {
  it('says who sent it, until when', async () => {
    expect(await read(await signed())).toEqual({
      ...{ subject: 'kim', roles: new Set(['quality']), plant: 'north', stations: new Set() },
      untilMs: CLAIMS.exp * 1_000,
    })
  })

  it('is held to its key once a minute, and to its end always', async () => {
    const local = createLocalJWKSet({ keys: [publicKey] })
    const keys = vi.fn((...asked: Parameters<typeof local>) => local(...asked))
    const reader = tokenReader({ ...RULES, keys })
    const [token, shortly] = [await signed(), await signed({ exp: NOW_SECONDS + 30 })]
    vi.useFakeTimers({ toFake: ['Date'], now: NOW_SECONDS * 1_000 })
    for (const each of [token, token, shortly, shortly]) await reader(each)
    expect(keys).toHaveBeenCalledTimes(2)
    vi.setSystemTime((NOW_SECONDS + 40) * 1_000)
    await expect(reader(shortly)).rejects.toThrow('expired')
    vi.setSystemTime((NOW_SECONDS + 61) * 1_000)
    keys.mockRejectedValue(new Error('withdrawn'))
    await expect(reader(token)).rejects.toThrow('does not count')
  })

  it('gives only roles there are, and stations to those who are one', async () => {
    const several = await read(await signed({ roles: ['analyst', 'root', 'ADMIN', 7] }))
    expect(several.roles).toEqual(new Set(['analyst']))
    expect((await read(await signed({ roles: 'service', station: 'melt' }))).stations.size).toBe(0)
    const station = await read(await signed({ roles: 'station', station: ['melt', 'quality'] }))
    expect(station.stations).toEqual(new Set(['melt']))
    expect((await read(await signed({ roles: undefined }))).roles.size).toBe(0)
  })

  it('may say its roles inside of another claim', async () => {
    const inside = tokenReader({
      ...{ ...RULES, rolesClaim: 'access.roles' },
      keys: createLocalJWKSet({ keys: [publicKey] }),
    })
    const token = await signed({ access: { roles: ['admin'] } })
    expect((await inside(token)).roles).toEqual(new Set(['admin']))
    expect((await inside(await signed({ access: 'none' }))).roles.size).toBe(0)
  })

  it('counts no longer than a day after it was made, whatever it says', async () => {
    const { untilMs } = await read(await signed({ exp: NOW_SECONDS + 999_999 }))
    expect(untilMs).toBe((NOW_SECONDS + 86_400) * 1_000)
  })
})

describe('A token that does not count is turned away', () => {
  const hours = (count: number) => NOW_SECONDS + count * 3_600
  it.each<[string, () => Promise<string> | string]>([
    ['that is unsigned', () => `${part({ alg: 'none' })}.${part(CLAIMS)}.`],
    ['that is unsigned in other letters', () => `${part({ alg: 'NoNe' })}.${part(CLAIMS)}.`],
    [
      'that takes the public key for a secret',
      async () => {
        const said = `${part({ alg: 'HS256', kid: 'ours' })}.${part(CLAIMS)}`
        const secret = await exportSPKI(own.publicKey)
        return `${said}.${createHmac('sha256', secret).update(said).digest('base64url')}`
      },
    ],
    ['signed by another', () => signed({}, {}, others.privateKey)],
    [
      'that brings its own key',
      async () =>
        signed({}, { kid: undefined, jwk: await exportJWK(others.publicKey) }, others.privateKey),
    ],
    [
      'that says where its key is',
      () => signed({}, { kid: 'theirs', jku: 'https://evil.example/keys' }, others.privateKey),
    ],
    [
      'that names a file as its key',
      () => signed({}, { kid: '../../../../dev/null' }, others.privateKey),
    ],
    [
      'with a mark that must be understood',
      () =>
        signed({}, { crit: ['exp2'], exp2: 1 }).catch(async () => {
          const [, body, signature] = (await signed()).split('.')
          return `${part({ alg: 'ES256', kid: 'ours', crit: ['exp2'], exp2: 1 })}.${body}.${signature}`
        }),
    ],
    [
      'whose claims were changed',
      async () => {
        const [head, , signature] = (await signed()).split('.')
        return `${head}.${part({ ...CLAIMS, roles: ['admin'] })}.${signature}`
      },
    ],
    ['that has expired', () => signed({ exp: hours(-1) })],
    ['that does not count yet', () => signed({ nbf: hours(1) })],
    ['without an end', () => signed({ exp: undefined })],
    ['without a beginning', () => signed({ iat: undefined })],
    ['made in the future', () => signed({ iat: hours(1) })],
    ['made two days ago', () => signed({ iat: hours(-48), exp: hours(1) })],
    ['for somebody else', () => signed({ aud: 'payroll' })],
    ['for nobody in particular', () => signed({ aud: undefined })],
    ['of another issuer', () => signed({ iss: 'https://evil.example' })],
    ['of no issuer', () => signed({ iss: undefined })],
    ['that names nobody', () => signed({ sub: undefined })],
    ['that names somebody with a line break', () => signed({ sub: 'kim\nadmin' })],
    ['that is 8 kB long', () => signed({ more: 'x'.repeat(8_000) })],
    ['that is none', () => 'none'],
    ['that is empty', () => ''],
  ])('%s', async (_, make) => {
    const token = await make()
    const error = await read(token).catch((failed) => failed)
    expect(error).toBeInstanceOf(NotLetIn)
    expect([error.code, error.status]).toEqual(['UNAUTHENTICATED', 401])
    expect(error.headers['www-authenticate']).toMatch(/^Bearer/)
    if (token.length > 20) expect(error.message).not.toContain(token.slice(0, 20))
  })

  it('of another plant, and is told so', async () => {
    for (const plant of ['south', undefined, ['north'], 'NORTH']) {
      const error = await read(await signed({ plant })).catch((failed) => failed)
      expect([error.code, error.status]).toEqual(['FORBIDDEN', 403])
    }
  })
})
