import { type DocumentNode, GraphQLError, type OperationDefinitionNode, parse } from 'graphql'
import { describe, expect, it } from 'vitest'
import { makeSchema } from '../../services/query/schema.ts'
import { checkLimits } from '../../services/query/server/limits.ts'

const schema = makeSchema()

function check(source: string, variables: Record<string, unknown> = {}): void {
  checkParsed(parse(source), variables)
}

function checkParsed(document: DocumentNode, variables: Record<string, unknown>): void {
  const operation = document.definitions.find(
    (node): node is OperationDefinitionNode => node.kind === 'OperationDefinition',
  )
  checkLimits(schema, document, operation, variables)
}

function refusalOf(source: string, variables: Record<string, unknown> = {}): string {
  try {
    check(source, variables)
  } catch (error) {
    if (error instanceof GraphQLError && error.extensions.code === 'TOO_MUCH') return error.message
    throw error
  }
  return 'nothing'
}

const nested = (levels: number) =>
  `{ packs { edges { node { ${'sources { of { ... on Pack { '.repeat(levels)} id ${'} } }'.repeat(levels)} } } } }`

describe('A request', () => {
  it('may ask what the page asks', () => {
    expect(refusalOf('{ reportsIn { verdict stations { station heardUpTo } } }')).toBe('nothing')
  })

  it('may not go deeper than 15 fields, with or without fragments', () => {
    expect(refusalOf(nested(2))).toBe('nothing')
    expect(refusalOf(nested(7))).toContain('15 fields deep')
    const hidden = Array.from(
      { length: 7 },
      (_, i) => `fragment F${i} on Pack { sources { of { ...F${i + 1} } } }`,
    )
    const source = `{ packs { edges { node { ...F0 } } } } ${hidden.join(' ')} fragment F7 on Pack { id }`
    expect(refusalOf(source)).toContain('15 fields deep')
  })

  it('may not bring more values than 20,000, by whatever way pages are multiplied', () => {
    const inner = 'edges { node { usedIn(first: 200) { edges { node { id } } } } }'
    expect(refusalOf(`{ lots(first: 5) { ${inner} } }`)).toBe('nothing')
    expect(refusalOf(`{ lots(first: 200) { ${inner} } }`)).toContain('20000 values')
    const source = `query ($n: Int!) { lots(first: $n) { ${inner} } }`
    expect(refusalOf(source, { n: 5 })).toBe('nothing')
    expect(refusalOf(source, { n: 200 })).toContain('20000 values')
    expect(refusalOf(`query ($n: Int! = 200) { lots(first: $n) { ${inner} } }`)).toContain('values')
  })

  it('is measured once per fragment, so that doubling costs no time', () => {
    const fragments = Array.from(
      { length: 25 },
      (_, i) => `fragment F${i} on Query { ...F${i + 1} ...F${i + 1} }`,
    )
    const source = `{ ...F0 } ${fragments.join(' ')} fragment F25 on Query { reportsIn { verdict } }`
    expect(refusalOf(source)).toContain('33554432')
  })

  it('is measured anew where its variables ask for another size or list', () => {
    const inner = 'edges { node { usedIn(first: $n) { edges { node { id } } } } }'
    const document = parse(
      `query ($n: Int!, $of: Int! = 20, $ids: [ID!]! = []) { lots(first: $of) { ${inner} }
        nodes(ids: $ids) { ... on Lot { reports(first: 200) { edges { node { id } } } } } }`,
    )
    const ids = Array.from({ length: 100 }, (_, i) => `lot:${i}`)
    const check = (variables: object) => () => checkParsed(document, { ...variables })
    expect(check({ n: 20 })).not.toThrow()
    expect(check({ n: 200, of: 200 })).toThrow('20000 values')
    expect(check({ n: 20 })).not.toThrow()
    expect(check({ n: 20, ids })).toThrow('20000 values')
    expect(check({ n: 20, ids: ids.slice(1, 3) })).not.toThrow()
  })

  it('may rename 30 fields and ask 10 questions', () => {
    const renamed = (count: number) =>
      `{ reportsIn { ${Array.from({ length: count }, (_, i) => `a${i}: verdict`).join(' ')} } }`
    expect(refusalOf(renamed(30))).toBe('nothing')
    expect(refusalOf(renamed(31))).toContain('rename 30')
    const asked = (count: number) =>
      `{ ${Array.from({ length: count }, (_, i) => `a${i}: reportsIn { verdict }`).join(' ')} }`
    expect(refusalOf(asked(10))).toBe('nothing')
    expect(refusalOf(asked(11))).toContain('ask 10 questions')
  })

  it('counts each of the ids it asks for at once', () => {
    const ids = Array.from({ length: 100 }, (_, i) => `lot:${i}`)
    const source = (size: number) =>
      `query ($ids: [ID!]!) { nodes(ids: $ids) { ... on Lot { reports(first: ${size}) { edges { node { id type } } } } } }`
    expect(refusalOf(source(20), { ids })).toBe('nothing')
    expect(refusalOf(source(200), { ids })).toContain('20000 values')
  })
})
