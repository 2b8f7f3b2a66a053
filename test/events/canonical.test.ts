import { createHash } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { canonical, contentHash } from '../../services/events/canonical.ts'
import type { JsonValue } from '../../services/events/statement.ts'

// RFC 8785, sections 3.2.2 and 3.2.3 and appendix B: recalled from memory, and found alike in several
// public copies of these vectors.

describe('Canonical JSON', () => {
  it('writes the sample of RFC 8785, section 3.2.2, as printed there', () => {
    const sample = String.raw`{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }`
    expect(canonical(JSON.parse(sample) as JsonValue)).toBe(
      String.raw`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
    )
  })

  it('sorts names by UTF-16 units, as the sample of RFC 8785, section 3.2.3', () => {
    const sample = String.raw`{"\u20ac":"Euro Sign","\r":"Carriage Return",
      "\ufb33":"Hebrew Letter Dalet With Dagesh","1":"One","\ud83d\ude00":"Emoji: Grinning Face",
      "\u0080":"Control","\u00f6":"Latin Small Letter O With Diaeresis"}`
    const written = canonical(JSON.parse(sample) as JsonValue)
    expect([...written.matchAll(/":"([^"]*)"/g)].map((match) => match[1])).toEqual([
      'Carriage Return',
      'One',
      'Control',
      'Latin Small Letter O With Diaeresis',
      'Euro Sign',
      'Emoji: Grinning Face',
      'Hebrew Letter Dalet With Dagesh',
    ])
  })

  it.each([
    ['0000000000000000', '0'],
    ['8000000000000000', '0'],
    ['0000000000000001', '5e-324'],
    ['8000000000000001', '-5e-324'],
    ['7fefffffffffffff', '1.7976931348623157e+308'],
    ['ffefffffffffffff', '-1.7976931348623157e+308'],
    ['4340000000000000', '9007199254740992'],
    ['c340000000000000', '-9007199254740992'],
    ['4430000000000000', '295147905179352830000'],
    ['44b52d02c7e14af5', '9.999999999999997e+22'],
    ['44b52d02c7e14af6', '1e+23'],
    ['44b52d02c7e14af7', '1.0000000000000001e+23'],
    ['444b1ae4d6e2ef4e', '999999999999999700000'],
    ['444b1ae4d6e2ef4f', '999999999999999900000'],
    ['444b1ae4d6e2ef50', '1e+21'],
    ['3eb0c6f7a0b5ed8c', '9.999999999999997e-7'],
    ['3eb0c6f7a0b5ed8d', '0.000001'],
    ['41b3de4355555553', '333333333.3333332'],
    ['41b3de4355555554', '333333333.33333325'],
    ['41b3de4355555555', '333333333.3333333'],
    ['41b3de4355555556', '333333333.3333334'],
    ['41b3de4355555557', '333333333.33333343'],
    ['becbf647612f3696', '-0.0000033333333333333333'],
    ['43143ff3c1cb0959', '1424953923781206.2'],
  ])('writes the double %s of RFC 8785, appendix B, as %s', (bits, text) => {
    expect(canonical(Buffer.from(bits, 'hex').readDoubleBE())).toBe(text)
  })

  it.each([
    ['an infinite number', Number.POSITIVE_INFINITY],
    ['not a number', Number.NaN],
    ['half a surrogate pair', '\ud83d'],
    ['half a surrogate pair in a name', { '\ude00': 1 }],
    ['nesting without end', JSON.parse('['.repeat(40) + ']'.repeat(40)) as JsonValue],
  ])('has no text for %s', (_, value) => {
    expect(() => canonical(value)).toThrow(TypeError)
  })

  it('keeps a name that is also a word of JavaScript', () => {
    const odd = JSON.parse('{"__proto__":{"b":1},"constructor":2,"a":3}') as JsonValue
    expect(canonical(odd)).toBe('{"__proto__":{"b":1},"a":3,"constructor":2}')
  })
})

describe('The content hash', () => {
  const content = {
    type: 'melt.ladle-slagged.v1',
    subject: 'ladle:L1',
    time: '2026-03-02T07:53:00-06:00',
    supersedes: undefined,
    data: { pass: 1, ladle: 'L1' },
  }

  it('is the SHA-256 of the canonical JSON of type, subject, time, supersedes and data', () => {
    const { supersedes: _, ...said } = content
    const expected = createHash('sha256').update(canonical(said)).digest('hex')
    expect(contentHash(content)).toBe(expected)
    const corrected = createHash('sha256').update(canonical({ ...said, supersedes: 'e1' }))
    expect(contentHash({ ...content, supersedes: 'e1' })).toBe(corrected.digest('hex'))
  })

  it('is another one for any other content', () => {
    const others = [
      content,
      { ...content, type: 'melt.ladle-slagged.v2' },
      { ...content, subject: undefined },
      { ...content, time: '2026-03-02T13:53:00Z' },
      { ...content, supersedes: 'e1' },
      { ...content, data: { ...content.data, pass: 2 } },
      { ...content, data: { ...content.data, pass: { value: 1 } } },
    ]
    expect(new Set(others.map(contentHash)).size).toBe(others.length)
  })

  it('is refused to the character that no database keeps, and not to text that spells it', () => {
    const withText = (word: string) => () => contentHash({ ...content, data: { word } })
    expect(withText('a\u0000b')).toThrow(TypeError)
    expect(withText('a\\\u0000b')).toThrow(TypeError)
    expect(withText('a\\u0000b')()).toMatch(/^[0-9a-f]{64}$/)
    expect(withText('\\\\u0000')()).toMatch(/^[0-9a-f]{64}$/)
  })
})
