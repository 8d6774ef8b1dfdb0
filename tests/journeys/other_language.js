// What a page says outside of ⟦ and ⟧; other_language.py says why. One expression: an object of functions.
({
  outsideBrackets() {
    const outside = (text) => {
      let depth = 0;
      let left = "";
      for (const letter of text) {
        if (letter === "⟦") depth += 1;
        else if (letter === "⟧") depth = Math.max(0, depth - 1);
        else if (!depth) left += letter;
      }
      return left.replace(/\s+/g, " ").trim();
    };
    // a sentence may run through links and bold words: it is read in the block that holds it
    const blockOf = (node) => {
      let block = node.parentElement;
      while (getComputedStyle(block).display.startsWith("inline") && block.parentElement) block = block.parentElement;
      return block;
    };
    const blocks = new Map();
    const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
    for (let word = words.nextNode(); word; word = words.nextNode()) {
      const isBreak = word.nodeName === "BR";
      if (word.nodeType !== Node.TEXT_NODE && !isBreak) continue;
      if (word.parentElement.closest("script, style, template, textarea, [translate=no]")) continue;
      const block = blockOf(word);
      blocks.set(block, (blocks.get(block) ?? "") + (isBreak ? " " : word.data));
    }
    const read = [...document.querySelectorAll("[alt], [aria-label], [placeholder], [title]")].flatMap((one) =>
      ["alt", "aria-label", "placeholder", "title"].map((name) => one.getAttribute(name) ?? ""),
    );
    const labels = [...document.querySelectorAll("[data-label]")].map((one) => one.dataset.label);
    return [document.title, ...blocks.values(), ...read, ...labels].map(outside).filter(Boolean);
  },
})
