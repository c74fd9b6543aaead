"use strict";

// Texts of the scripts in the language of the page. `page_words` has those that its catalogue holds, by the
// English text, and `page_decimal` its decimal sign; both stand before this script.

// A text with its values in place of their names: tell("{people} people", { people: "12" }).
const tell = (template, values = {}) =>
  (page_words[template] ?? template).replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));

// A number with so many decimals as the language writes it.
const written = (value, decimals = 0) => value.toFixed(decimals).replace(".", page_decimal);
