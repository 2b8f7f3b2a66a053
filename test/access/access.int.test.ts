// Whose tokens count: those of an issuer that publishes its keys, of a key in a file, of the house itself.
import { once } from 'node:events'
import { readFile, stat, writeFile } from 'node:fs/promises'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { join } from 'node:path'
import { exportJWK, generateKeyPair, type JWK, SignJWT } from 'jose'
import { describe, expect, onTestFinished, test } from 'vitest'
import { type Access, openAccess } from '../../services/access/access.ts'
import { readHeader, signerIn } from '../../services/access/own-tokens.ts'
import { cookieOf } from '../../services/access/sign-in.ts'
import { settingsFrom } from '../../services/settings.ts'
import { newFolder } from '../stations/folders.ts'

function open(environment: Record<string, string>): Promise<Access> {
  return openAccess(settingsFrom(environment), (why) => expect.unreachable(String(why)))
}

/** Whom a request is from that has these headers. */
function asked({ whoSends }: Access, headers: Record<string, string>) {
  return whoSends({ headers, rawHeaders: Object.entries(headers).flat() })
}

const bearer = (token: string) => ({ authorization: `Bearer ${token}` })
const failed = (error: { code: unknown }) => error

/** An issuer on this machine: what it publishes, and what it signs. */
async function newIssuer() {
  const { publicKey, privateKey } = await generateKeyPair('ES256', { extractable: true })
  const keys: JWK[] = [{ ...(await exportJWK(publicKey)), kid: 'one', alg: 'ES256' }]
  const said = { issuer: '', away: false, asked: 0 }
  const server = createServer((request, response) => {
    said.asked++
    if (said.away) response.statusCode = 500
    const jwks_uri = `${address}/keys`
    const answer = request.url === '/keys' ? { keys } : { issuer: said.issuer, jwks_uri }
    response.end(JSON.stringify(answer))
  })
  server.listen(0, '127.0.0.1')
  await once(server, 'listening')
  onTestFinished(() => {
    server.close()
    server.closeAllConnections()
  })
  const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}`
  said.issuer = address
  const sign = (kid = 'one') =>
    new SignJWT({ roles: ['analyst'], plant: 'main' })
      .setProtectedHeader({ alg: 'ES256', kid })
      .setIssuer(address)
      .setAudience('heat-to-pan')
      .setSubject('kim')
      .setIssuedAt()
      .setExpirationTime('5 minutes')
      .sign(privateKey)
  return { address, said, sign }
}

describe('An issuer that publishes its keys', () => {
  test('is looked up once, when the first token comes', async () => {
    const { address, said, sign } = await newIssuer()
    const access = await open({ HEAT_TO_PAN_ISSUER: address, HEAT_TO_PAN_HOST: '0.0.0.0' })
    expect([said.asked, access.own]).toEqual([0, undefined])
    for (let i = 0; i < 3; i++)
      expect(await asked(access, bearer(await sign()))).toMatchObject({ subject: 'kim' })
    expect(said.asked).toBe(2)
    const unknown = await asked(access, bearer(await sign('two'))).catch(failed)
    expect(unknown).toMatchObject({ code: 'UNAUTHENTICATED' })
  })

  test('that is away is no reason to call a token bad', async () => {
    const { address, said, sign } = await newIssuer()
    said.away = true
    const access = await open({ HEAT_TO_PAN_ISSUER: address })
    const away = await asked(access, bearer(await sign())).catch(failed)
    expect(away).toMatchObject({ code: 'ISSUER_AWAY', status: 503 })
    const asking = said.asked
    expect(await asked(access, bearer(await sign())).catch(failed)).toEqual(away)
    expect(said.asked).toBe(asking)
  })

  test('that says to be another is not believed', async () => {
    const { address, said, sign } = await newIssuer()
    said.issuer = 'https://other.example'
    const access = await open({ HEAT_TO_PAN_ISSUER: address })
    expect(await asked(access, bearer(await sign())).catch(failed)).toMatchObject({
      code: 'ISSUER_AWAY',
    })
  })
})

describe('A key in a file', () => {
  test('is the public one, and what it signed counts', async () => {
    const folder = await newFolder()
    const signer = await signerIn(folder)
    const access = await open({
      ...{ HEAT_TO_PAN_KEY: signer.publicFile, HEAT_TO_PAN_HOST: '0.0.0.0' },
    })
    const said = { subject: 'furnace', plant: 'main', audience: 'heat-to-pan', hours: 1 }
    const token = await signer.sign({ ...said, roles: ['station'], stations: ['melt'] })
    expect((await asked(access, bearer(token))).stations).toEqual(new Set(['melt']))
    expect((await signerIn(folder)).publicFile).toBe(signer.publicFile)
  })

  test.each([
    ['that is not there', async (folder: string) => join(folder, 'none.json')],
    [
      'that holds the secret',
      async (folder: string) => {
        await signerIn(folder)
        return join(folder, 'private-key.json')
      },
    ],
    [
      'that is no JSON',
      async (folder: string) => {
        await writeFile(join(folder, 'key.pem'), '-----BEGIN')
        return join(folder, 'key.pem')
      },
    ],
  ])('%s stops the start with a sentence', async (_, file) => {
    const HEAT_TO_PAN_KEY = await file(await newFolder())
    await expect(open({ HEAT_TO_PAN_KEY })).rejects.toThrow(/^HEAT_TO_PAN_KEY names no file of/)
  })
})

describe('A house that nobody issues tokens for', () => {
  test('is refused where others can come in', async () => {
    for (const HEAT_TO_PAN_HOST of ['0.0.0.0', '::', '192.168.1.4', 'foundry.example'])
      await expect(open({ HEAT_TO_PAN_HOST })).rejects.toThrow('set HEAT_TO_PAN_ISSUER')
  })

  test('issues them itself, into files for its owner alone', async () => {
    const HEAT_TO_PAN_DATA = await newFolder()
    const access = await open({ HEAT_TO_PAN_DATA })
    onTestFinished(access.stop)
    const folder = join(HEAT_TO_PAN_DATA, 'tokens')
    expect((await stat(folder)).mode & 0o777).toBe(0o700)
    for (const role of ['quality', 'service', 'analyst', 'admin', 'station'] as const) {
      const file = join(folder, role)
      expect((await stat(file)).mode & 0o777).toBe(0o600)
      const line = await readFile(file, 'utf8')
      expect(line).toBe(`authorization: Bearer ${access.own!.get(role)}\n`)
      const who = await asked(access, { authorization: (await readHeader(folder, role))! })
      expect([...who.roles]).toEqual([role])
      expect(who.stations.size).toBe(role === 'station' ? 8 : 0)
      expect(who.untilMs - Date.now()).toBeLessThanOrEqual(86_400_000)
    }
    expect((await stat(join(folder, 'private-key.json'))).mode & 0o777).toBe(0o600)
  })

  test('takes tokens of yesterday evening after a restart, and several processes one key', async () => {
    const HEAT_TO_PAN_DATA = await newFolder()
    const processes = await Promise.all([1, 2, 3].map(() => open({ HEAT_TO_PAN_DATA })))
    for (const { stop } of processes) onTestFinished(stop)
    for (const { own } of processes)
      for (const access of processes)
        expect(await asked(access, bearer(own!.get('admin')!))).toMatchObject({ plant: 'main' })
  })
})

describe('A request', () => {
  test('may bring its token in a header or a cookie, and one only', async () => {
    const access = await open({ HEAT_TO_PAN_DATA: await newFolder() })
    onTestFinished(access.stop)
    const quality = access.own!.get('quality')!
    const admin = access.own!.get('admin')!
    const cookie = cookieOf(quality, { seconds: 9, secure: true }).split(';')[0]!
    expect(cookieOf(quality, { seconds: 9, secure: true })).toMatch(
      /; Path=\/; HttpOnly; SameSite=Strict; Max-Age=9; Secure$/,
    )
    expect((await asked(access, { cookie: `a=b; ${cookie}` })).roles).toEqual(new Set(['quality']))
    expect((await asked(access, { cookie, ...bearer(admin) })).roles).toEqual(new Set(['admin']))
    const { whoSends } = access
    const twice = ['Authorization', `Bearer ${quality}`, 'authorization', `Bearer ${admin}`]
    for (const refused of [
      whoSends({ headers: bearer(quality), rawHeaders: twice }),
      asked(access, {}),
      asked(access, { cookie: `${cookie}; ${cookie}` }),
      asked(access, { cookie: 'heat-to-pan=' }),
      asked(access, { authorization: 'Basic a2ltOmtpbQ==' }),
      asked(access, { authorization: `Bearer ${quality} ${admin}` }),
      asked(access, { authorization: 'Bearer ', cookie }),
    ])
      expect(await refused.catch(failed)).toMatchObject({ code: 'UNAUTHENTICATED', status: 401 })
  })
})
