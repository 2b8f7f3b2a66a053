// npm run asks [-- --check]    makes the TypeScript beside each GraphQL document of the desk
import { readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { codegen } from '@graphql-codegen/core'
import * as operations from '@graphql-codegen/typescript-operations'
import { Kind, parse } from 'graphql'
import { SDL } from '../../query/sdl.ts'
import { deskDocuments } from '../../query/server/desk.ts'
import { idOf } from '../../query/server/documents.ts'

const ASKS = join(import.meta.dirname, '..', 'asks')

/** The types of one document, and each of its operations as an ask by the document's id. */
async function askOf(file: string, text: string): Promise<string> {
  const document = parse(text)
  const types = await codegen({
    filename: file,
    schema: parse(SDL),
    documents: [{ location: file, document }],
    config: {
      scalars: { DateTime: 'string', ID: 'string' },
      enumType: 'string-literal',
      disableDescriptions: true,
    },
    plugins: [{ operations: {} }],
    pluginMap: { operations },
  })
  const asks = document.definitions.flatMap((definition) => {
    if (definition.kind !== Kind.OPERATION_DEFINITION) return []
    const name = definition.name!.value
    const type = name + (definition.operation === 'query' ? 'Query' : 'Mutation')
    const asked = JSON.stringify({ document: idOf(text), operation: name })
    return [`export const ask${name}: Ask<${type}, ${type}Variables> = ${asked}`]
  })
  const head = `// Made by npm run asks from ${file}.\nimport type { Ask } from '../frame/ask.ts'`
  return `${[head, types.trim(), ...asks].join('\n\n')}\n`
}

const isCheck = process.argv.includes('--check')
const files = readdirSync(ASKS)
const made = new Map<string, string>()
for (const [file, text] of Object.entries(deskDocuments()))
  made.set(file.replace(/graphql$/, 'ts'), await askOf(file, text))
const stray = files.filter((file) => file.endsWith('.ts') && !made.has(file))
const old = [...made].filter(
  ([file, text]) => !files.includes(file) || readFileSync(join(ASKS, file), 'utf8') !== text,
)
if (!isCheck) for (const [file, text] of old) writeFileSync(join(ASKS, file), text)
for (const file of stray)
  console.error(`services/desk/asks/${file} belongs to no document: delete it.`)
if (isCheck && old.length > 0)
  console.error(
    `Not as its document says: ${old.map(([file]) => file).join(', ')}. Run npm run asks.`,
  )
process.exitCode = stray.length > 0 || (isCheck && old.length > 0) ? 1 : 0
