namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damage that leaves a YAML document one: other values, keys and depths.</summary>
internal static class YamlMutations
{
    public static byte[] Step(byte[] bytes, byte[] other, Random random)
    {
        var lines = TextMutations.Lines(bytes);
        int at = random.Next(lines.Count);
        string line = lines[at], nasty = TextMutations.Put(Nasty.Word(random));
        int colon = line.IndexOf(": ", StringComparison.Ordinal), indent = line.Length - line.TrimStart(' ').Length;
        switch (random.Next(12))
        {
            case 0 when colon > 0: lines[at] = line[..(colon + 2)] + nasty; break;
            case 1 when colon > 0: lines[at] = line[..(colon + 2)]
                + "\"" + nasty.Replace("\"", "\\\"", StringComparison.Ordinal) + "\""; break;
            case 2 when colon > 0: lines[at] = new string(' ', indent) + nasty + line[colon..]; break;
            // The value of one entry of a map in braces.
            case 3: lines[at] = Entry(line, nasty, random); break;
            case 4: lines[at] = new string(' ', random.Next(12)) + line.TrimStart(); break;
            case 5: lines.Insert(at, new string(' ', indent) + nasty + ": " + TextMutations.Put(Nasty.Word(random))); break;
            case 6: lines.Insert(at + 1, line); break;
            case 7 when colon > 0: lines[at] = line[..(colon + 2)] + "&a "
                + line[(colon + 2)..]; lines.Insert(random.Next(lines.Count), new string(' ', indent) + "copy: *a"); break;
            // Each alias twice the one before: 2^20 nodes.
            case 8 when random.Next(4) == 0: lines.InsertRange(at,
                Enumerable.Range(0, 20).Select(i => i == 0 ? "a0: &a0 [x, x]" : $"a{i}: &a{i} [*a{i - 1}, *a{i - 1}]")); break;
            case 9:
                var others = TextMutations.Lines(other);
                string theirs = others[random.Next(others.Count)];
                int their = theirs.IndexOf(": ", StringComparison.Ordinal);
                if (colon > 0 && their > 0) { lines[at] = line[..colon] + theirs[their..]; }
                break;
            case 10 when random.Next(8) == 0: lines.InsertRange(
                at, Enumerable.Range(0, random.Next(100, 20_000)).Select(i => new string(' ', indent) + $"key{i}: {i}")); break;
            default: lines.Insert(at, TextMutations.Put(Nasty.Word(random))); break;
        }
        return TextMutations.Joined(lines);
    }

    private static string Entry(string line, string nasty, Random random)
    {
        string[] parts = line.Split(", ");
        int at = random.Next(parts.Length), colon = parts[at].LastIndexOf(": ", StringComparison.Ordinal);
        string closing = string.Concat(parts[at].Reverse().TakeWhile(c => c is '}' or ']'));
        if (colon > 0) { parts[at] = parts[at][..(colon + 2)] + nasty + closing; } else { parts[at] = nasty + closing; }
        return string.Join(", ", parts);
    }
}
