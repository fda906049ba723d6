namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damage to cells and columns.</summary>
internal static class TableMutations
{
    private const string Separators = ",;\t ";

    public static byte[] Step(byte[] bytes, Random random)
    {
        var lines = TextMutations.Lines(bytes);
        int row = random.Next(lines.Count);
        char separator = Separators.MaxBy(c => lines[Math.Min(1, lines.Count - 1)].Count(l => l == c));
        int column = random.Next(lines[row].Split(separator).Length);
        string nasty = TextMutations.Put(Nasty.Word(random));
        switch (random.Next(10))
        {
            case 0: Change(lines, separator, column, cells => cells[column] = nasty); break;
            case 1: Change(lines, separator, column, cells => cells.RemoveAt(column)); break;
            case 2: Change(lines, separator, column, cells => cells.Insert(column, cells[column])); break;
            case 3: Set("\"" + nasty); break;
            case 4: Set("\"" + nasty + separator + "\n\""); break;
            // A header of another unit or quantity.
            case 5: lines[0] = string.Join(
                separator, lines[0].Split(separator)
                .Select((h, i) => i == column
                    ? new[] { "t_s", "t_ms", "gx_dps", "ax_g",
                        "az_m/s2", "label", "start_s", "class", "trial", "" }[random.Next(10)] : h));
                break;
            case 6: lines[row] += separator; break;
            case 7: lines = [.. lines.Select(l => l.Replace(separator, Separators[random.Next(Separators.Length)]))]; break;
            default: Set(random.Next(2) == 0 ? nasty : Nasty.Number(random)); break;
        }
        return TextMutations.Joined(lines);

        void Set(string cell)
        {
            string[] cells = lines[row].Split(separator);
            cells[column] = cell;
            lines[row] = string.Join(separator, cells);
        }
    }

    /// <summary>In every row that has the column.</summary>
    private static void Change(List<string> lines, char separator, int column, Action<List<string>> change)
    {
        for (int i = 0; i < lines.Count; i++)
        {
            List<string> cells = [.. lines[i].Split(separator)];
            if (column >= cells.Count) { continue; }
            change(cells);
            lines[i] = string.Join(separator, cells);
        }
    }
}
