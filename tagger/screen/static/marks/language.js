// The vocabulary with the playbook filled in, as the server sends it, and quick ways into it. Defines no word of its own.

/** @typedef {string | number | number[] | null} Value */
/** @typedef {Record<string, Value>} Answers */
/** @typedef {Record<string, string>} Context */
/** @typedef {Record<string, (string | null)[]>} Conditions */
/** @typedef {{code: string, key: string, name: string, say?: string, about?: string, with?: Answers}} Choice `with`: what it answers besides */
/**
 * @typedef {{code: string, ask: string, name?: string, about?: string, type: string, level: string, when?: Conditions, offer?: string[], offer_when?: Conditions, together?: string, two?: boolean,
 *   whose?: string, say?: string, choices?: Choice[], retired?: Choice[]}} Question
 */
/**
 * @typedef {{key: string, code?: string, name: string, needs?: Record<string, string[]>,
 *   answers?: Record<string, string>, about?: string}} MarkKey
 */
/** @typedef {{if?: Conditions, put: Record<string, string>}} Effect */
/**
 * @typedef {{code: string, name: string, about?: string, rank: number, level: string, log?: string, does?: string, any_detail?: boolean,
 *   run?: string, keys: MarkKey[], needs: Record<string, string[]>, effects: Effect[], questions: Question[],
 *   ends_possession?: {when?: Conditions, ended: string}[],
 *   begins_possession?: {when?: Conditions, gained: string}[], say: {text: string, when?: Conditions}[]}} Kind
 */
/** @typedef {{code: string, name: string}} Named */
/** @typedef {Named & {shape?: string, scores?: boolean}} Ending */
/** @typedef {Named & {key: string, strength: string, sides: string[], roles: Named[], looks: Named[], checkpoints: Named[]}} SetPlay */
/**
 * @typedef {{levels: Named[], film_keys: string[], hand_keys: string[], list_keys: string[], together: Record<string, string>, context: Context,
 *   kinds: Kind[], sets: SetPlay[], lines: (Named & {key: string, players: string[]})[], asked: string, shapes: Named[], endings: Ending[], rank: number}} LanguageData
 */
/**
 * @typedef {{data: LanguageData, kinds: Map<string, Kind>, sets: Map<string, SetPlay>, levels: Map<string, number>, endings: Map<string, Ending>,
 *   keys: Map<string, {kind: Kind, key: MarkKey}[]>}} Language
 */

/**
 * @param {LanguageData} data
 * @returns {Language}
 */
export function readLanguage(data) {
  /** @type {Map<string, {kind: Kind, key: MarkKey}[]>} */
  const keys = new Map();
  for (const kind of data.kinds) {
    for (const key of kind.keys) keys.set(key.key, [...(keys.get(key.key) ?? []), { kind, key }]);
  }
  return {
    data,
    kinds: new Map(data.kinds.map((kind) => [kind.code, kind])),
    sets: new Map(data.sets.map((play) => [play.code, play])),
    endings: new Map(data.endings.map((ending) => [ending.code, ending])),
    levels: new Map(data.levels.map((level, place) => [level.code, place])),
    keys,
  };
}

/**
 * A kind's question, or undefined.
 * @param {Language} language
 * @param {string} kind
 * @param {string} code
 */
export function questionOf(language, kind, code) {
  return language.kinds.get(kind)?.questions.find((question) => question.code === code);
}

/**
 * What only code can say of a kind, or undefined.
 * @param {Language} language
 * @param {string} kind
 */
export function doesOf(language, kind) {
  return language.kinds.get(kind)?.does;
}

/**
 * The kind that does something that only code can say, or undefined.
 * @param {Language} language
 * @param {string} does
 */
export function kindThat(language, does) {
  return language.data.kinds.find((kind) => kind.does === does);
}
