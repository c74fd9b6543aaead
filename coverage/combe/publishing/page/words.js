"use strict";

// Texts of the scripts in the language of the page. `page_words` has those that its catalogue holds, by the
// English text, and `page_decimal` its decimal sign; both stand before this script.

// A text with its values in place of their names: tell("{people} people", { people: "12" }).
const tell = (template, values = {}) =>
  (page_words[template] ?? template).replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));

// One of two texts, as there is one of what is counted or not; `count` is a value of both.
const tellNumber = (count, one, several, values = {}) => tell(count === 1 ? one : several, { count, ...values });

// A text whose values are parts of the page: a row of words and these parts, in the order of the language.
const tellAround = (told, parts) => told.split(/\{(\w+)\}/).map((piece, at) => (at % 2 ? parts[piece] : piece));

// A number with so many decimals as the language writes it, and one with no more than it has.
const written = (value, decimals = 0) => value.toFixed(decimals).replace(".", page_decimal);
const unpadded = (value) => String(value).replace(".", page_decimal);

// Words that follow others in a sentence. English alone has a small letter there, whatever the word.
const within = (words) => (document.documentElement.lang === "en" ? words.slice(0, 1).toLowerCase() + words.slice(1) : words);
