// A house that nobody issues tokens for, and that listens on this machine only, issues them itself: for a
// day, into files that its owner alone may read. Each file is a header as `curl -H @file` takes it.
import { randomUUID } from 'node:crypto'
import { link, mkdir, readFile, rename, rm, writeFile } from 'node:fs/promises'
import { dirname, join } from 'node:path'
import { exportJWK, generateKeyPair, importJWK, type JWK, SignJWT } from 'jose'
import { REPORTING, ROLES, type Role } from './who.ts'

export const OWN_ISSUER = 'urn:heat-to-pan'
const ALGORITHM = 'EdDSA'
const PRIVATE = 'private-key.json'

/** A pair of keys in a folder, and what is signed with it. */
export interface Signer {
  /** A file with the public key. */
  publicFile: string
  sign(said: Signed): Promise<string>
}

export interface Signed {
  subject: string
  roles: readonly Role[]
  plant: string
  stations?: readonly string[]
  audience: string
  hours: number
}

/** The pair of keys of a folder, made when there is none; several processes may ask at once. */
export async function signerIn(folder: string): Promise<Signer> {
  await mkdir(folder, { recursive: true, mode: 0o700 })
  const secret = (await keyIn(folder)) ?? (await makeKey(folder))
  const { d: _, ...shown } = secret
  // By itself: so a folder with nothing secret in it can be shown to those who check tokens.
  const publicFile = join(folder, 'public', 'key.json')
  await mkdir(dirname(publicFile), { recursive: true })
  await replaceFile(publicFile, JSON.stringify({ keys: [shown] }), 0o644)
  const key = await importJWK(secret, ALGORITHM)
  return {
    publicFile,
    sign: ({ subject, roles, plant, stations, audience, hours }) =>
      new SignJWT({ roles, plant, ...(stations && { station: stations }) })
        .setProtectedHeader({ alg: ALGORITHM, kid: secret.kid!, typ: 'JWT' })
        .setIssuer(OWN_ISSUER)
        .setAudience(audience)
        .setSubject(subject)
        .setIssuedAt()
        .setExpirationTime(`${hours} hours`)
        .setJti(randomUUID())
        .sign(key),
  }
}

/** Writes a token of each role into the folder, and gives them. */
export async function writeTokens(
  folder: string,
  signer: Signer,
  { plant, audience, hours }: Pick<Signed, 'plant' | 'audience' | 'hours'>,
): Promise<ReadonlyMap<Role, string>> {
  const tokens = new Map<Role, string>()
  for (const role of ROLES) {
    const stations = role === 'station' ? { stations: REPORTING } : {}
    const said = { subject: `${role}@this-machine`, roles: [role], plant, audience, hours }
    const token = await signer.sign({ ...said, ...stations })
    await replaceFile(tokenFile(folder, role), `authorization: Bearer ${token}\n`, 0o600)
    tokens.set(role, token)
  }
  return tokens
}

/** The header in a file of `writeTokens`; undefined when there is none. */
export async function readHeader(folder: string, role: Role): Promise<string | undefined> {
  const line = await readFile(tokenFile(folder, role), 'utf8').catch(() => undefined)
  return line?.trim().replace(/^authorization: /, '')
}

function tokenFile(folder: string, role: Role): string {
  return join(folder, role)
}

async function keyIn(folder: string): Promise<JWK | undefined> {
  const text = await readFile(join(folder, PRIVATE), 'utf8').catch(() => undefined)
  return text === undefined ? undefined : (JSON.parse(text) as JWK)
}

async function makeKey(folder: string): Promise<JWK> {
  const { privateKey } = await generateKeyPair(ALGORITHM, { extractable: true })
  const made = { ...(await exportJWK(privateKey)), kid: randomUUID(), alg: ALGORITHM, use: 'sig' }
  const draft = join(folder, `.${randomUUID()}`)
  await writeFile(draft, JSON.stringify(made), { mode: 0o600, flag: 'wx' })
  try {
    // Whoever links first has made the key; it never stands there half written.
    await link(draft, join(folder, PRIVATE))
    return made
  } catch (error) {
    const others = await keyIn(folder)
    if (!others) throw error
    return others
  } finally {
    await rm(draft)
  }
}

/** A file that is read while it is replaced is the old one or the new one. */
async function replaceFile(file: string, text: string, mode: number): Promise<void> {
  const draft = `${file}.${randomUUID()}`
  await writeFile(draft, text, { mode, flag: 'wx' })
  await rename(draft, file)
}
