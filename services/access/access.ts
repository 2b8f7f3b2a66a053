// Who is let into a process: by tokens of an issuer, of a key in a file, or, on this machine only, by
// tokens the house issues itself.
import { join } from 'node:path'
import type { Settings } from '../settings.ts'
import { isLoopback, keysInFile, publishedKeys } from './keys.ts'
import { OWN_ISSUER, readHeader, signerIn, writeTokens } from './own-tokens.ts'
import { type WhoSends, whoSendsBy } from './sign-in.ts'
import { type TokenRules, tokenReader } from './tokens.ts'
import type { Role } from './who.ts'

export interface Access {
  whoSends: WhoSends
  /** Tokens the house has issued itself, by role; absent where somebody else does. */
  own?: ReadonlyMap<Role, string>
  stop(): void
}

/** The header by which one of a role signs in to the house that holds a folder; undefined when it wrote none. */
export function readOwnHeader({ folder }: Settings, role: Role): Promise<string | undefined> {
  return readHeader(tokensIn(folder), role)
}

/** Own tokens are made anew so often. Unit: ms. */
const ANEW_MS = 12 * 3_600_000
const DAY_HOURS = 24

/** Throws one sentence when the process would be open to others and nobody says whose tokens count. */
export async function openAccess(
  settings: Settings,
  failed: (why: unknown) => void,
): Promise<Access> {
  const { tokens, host, plant } = settings
  const { issuer, keyFile, audience, hours, rolesClaim } = tokens
  const rules = { audience, hours, rolesClaim, plant }
  if (keyFile !== undefined)
    return by({ ...rules, issuer: issuer ?? OWN_ISSUER, keys: await keysInFile(keyFile) })
  if (issuer !== undefined) return by({ ...rules, issuer, keys: publishedKeys(issuer) })
  if (!isLoopback(host))
    throw new Error(
      `HEAT_TO_PAN_HOST is ${host}, where others can come in, and nobody says whose tokens count: ` +
        'set HEAT_TO_PAN_ISSUER or HEAT_TO_PAN_KEY, or listen on 127.0.0.1.',
    )
  const folder = tokensIn(settings.folder)
  const signer = await signerIn(folder)
  const write = () => writeTokens(folder, signer, { plant, audience, hours: DAY_HOURS })
  const own = await write()
  const timer = setInterval(() => void write().catch(failed), ANEW_MS).unref()
  const keys = await keysInFile(signer.publicFile)
  return {
    ...by({ ...rules, issuer: OWN_ISSUER, rolesClaim: 'roles', hours: DAY_HOURS, keys }),
    own,
    stop: () => clearInterval(timer),
  }
}

function tokensIn(folder: string): string {
  return join(folder, 'tokens')
}

function by(rules: TokenRules): Access {
  return { whoSends: whoSendsBy(tokenReader(rules)), stop: () => undefined }
}
