"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const byId = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
function made(name, attributes, text) {
  const one = document.createElement(name);
  for (const [key, value] of Object.entries(attributes || {})) one.setAttribute(key, value);
  if (text !== undefined) one.textContent = text;
  return one;
}
function drawn(name, attributes, text) {
  const one = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes || {})) one.setAttribute(key, value);
  if (text !== undefined) one.textContent = text;
  return one;
}
