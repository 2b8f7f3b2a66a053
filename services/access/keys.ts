// Where the keys are that tokens are held against: published by an issuer (OpenID Connect Discovery 1.0),
// or in a file.
import { readFile } from 'node:fs/promises'
import { createLocalJWKSet, createRemoteJWKSet, errors, type JWK, type JWTVerifyGetKey } from 'jose'
import { NotLetIn } from './not-let-in.ts'

const PATIENCE_MS = 5_000
/** Between two tries to reach an issuer that is away: each request meanwhile is told so at once. */
const PAUSE_MS = 2_000

/**
 * The keys that an issuer publishes, looked up when the first token comes: an issuer that is away keeps no
 * house from starting. Only what it says of itself by its own name counts.
 */
export function publishedKeys(issuer: string): JWTVerifyGetKey {
  let keys: Promise<JWTVerifyGetKey> | undefined
  let triedMs = Number.NEGATIVE_INFINITY
  async function discover(): Promise<JWTVerifyGetKey> {
    const found = await configurationOf(issuer)
    return createRemoteJWKSet(found, { timeoutDuration: PATIENCE_MS })
  }
  return async (header, token) => {
    if (!keys && performance.now() - triedMs < PAUSE_MS) throw away()
    try {
      if (!keys) triedMs = performance.now()
      keys ??= discover()
      return await (await keys)(header, token)
    } catch (error) {
      // A key nobody published is the token's fault, and the rest is not.
      if (error instanceof errors.JWKSNoMatchingKey || error instanceof errors.JOSENotSupported)
        throw error
      if (!(error instanceof errors.JOSEError)) keys = undefined
      throw away()
    }
  }
}

async function configurationOf(issuer: string): Promise<URL> {
  const address = `${issuer.replace(/\/$/, '')}/.well-known/openid-configuration`
  const response = await fetch(address, {
    ...{ redirect: 'error', headers: { accept: 'application/json' } },
    signal: AbortSignal.timeout(PATIENCE_MS),
  })
  if (!response.ok) throw new Error(`${address} answers ${response.status}.`)
  const said = (await response.json()) as { issuer?: unknown; jwks_uri?: unknown }
  if (said.issuer !== issuer) throw new Error(`${address} is of another issuer.`)
  const keys = URL.parse(String(said.jwks_uri))
  if (!keys || !isSafe(keys)) throw new Error(`${address} names no keys over https.`)
  return keys
}

/** Encrypted, or on this machine. */
export function isSafe({ protocol, hostname }: URL): boolean {
  return protocol === 'https:' || (protocol === 'http:' && isLoopback(hostname))
}

export function isLoopback(host: string): boolean {
  return /^(localhost|127(\.\d{1,3}){3}|\[?::1\]?)$/.test(host)
}

/** The public keys in a file: one JWK, or a set of them (RFC 7517). Throws one sentence. */
export async function keysInFile(file: string): Promise<JWTVerifyGetKey> {
  try {
    const said = JSON.parse(await readFile(file, 'utf8')) as { keys?: JWK[] } & JWK
    const keys = said.keys ?? [said]
    if (keys.some(({ d, k }) => d !== undefined || k !== undefined))
      throw new Error('it holds a secret, and should hold the public key alone')
    return createLocalJWKSet({ keys })
  } catch (error) {
    throw new Error(`HEAT_TO_PAN_KEY names no file of public keys: ${(error as Error).message}`)
  }
}

function away(): NotLetIn {
  return new NotLetIn('ISSUER_AWAY', 'Who issues the tokens cannot be reached just now.')
}
