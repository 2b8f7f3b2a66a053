// The schema as it is written, one file a question.
import { readdirSync, readFileSync } from 'node:fs'

const WRITTEN = new URL('../../schema/query/', import.meta.url)

/** All files of `schema/query` as one text, comments and all. */
export const SDL = readdirSync(WRITTEN)
  .filter((file) => file.endsWith('.graphql'))
  .sort()
  .map((file) => readFileSync(new URL(file, WRITTEN), 'utf8'))
  .join('\n')
