using System.Collections.Frozen;
using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings;

/// <summary>The header of a native recording: names with units.</summary>
internal static class NativeHeader
{
    private static readonly FrozenDictionary<string, ColumnUse> s_columns = Columns();

    private const string Expected = "t_s, ax_g (or ax_mg, ax_mps2), gx_dps (or gx_radps) and the like for y and z";

    /// <returns>One entry per column; faults are in <paramref name="faults"/>.</returns>
    public static List<ColumnUse> Read(RowReader row, FaultList faults)
    {
        var uses = new List<ColumnUse>();
        var seen = new Dictionary<string, int>();
        if (Enumerable.Range(0, row.Count).All(i => CsvText.TryNumber(row[i], out _)))
        {
            faults.Add(row.Line, 1, "numbers in the first line", "a header with units such as ax_g,ay_g,az_g",
                "add the header, or describe the file with format:");
            return uses;
        }
        for (int i = 0; i < row.Count; i++)
        {
            string name = CsvText.Unquote(row[i]);
            if (!s_columns.TryGetValue(name, out var use))
            {
                faults.Add(row.Line, row.Column(i), $"column {FoundText.Show(name)}", Expected, Remedy(name));
                continue;
            }
            string quantity = use.IsTime ? "t" : use.Channel!;
            if (!seen.TryAdd(quantity, i))
            {
                faults.Add(row.Line, row.Column(i), $"column {FoundText.Show(name)}, the second one of {quantity}", "each quantity once");
            }
            uses.Add(use);
        }
        if (!faults.Any && uses.All(u => u.Channel is null))
        {
            faults.Add(row.Line, 1, "no column of motion", Expected);
        }
        return uses;
    }

    /// <summary>t or the channel that a name of the native header stands for; null: it is none.</summary>
    public static string? QuantityOf(string name) => !s_columns.TryGetValue(name, out var use) ? null : use.IsTime ? "t" : use.Channel;

    private static string Remedy(string name)
    {
        string bare = name.Split('_')[0].ToLowerInvariant();
        string[] near = [.. s_columns.Keys.Where(k => k.Split('_')[0] == bare)];
        return near.Length > 0 ? $"write {string.Join(" or ", near)}" : "take the column out, or describe the file with format: and skip it with _";
    }

    private static FrozenDictionary<string, ColumnUse> Columns()
    {
        var columns = new Dictionary<string, ColumnUse> { ["t_s"] = ColumnUse.Time };
        foreach (string channel in ColumnUse.ChannelNames)
        {
            (string Suffix, string Unit)[] units = ColumnUse.IsAcceleration(channel)
                ? [("g", "g"), ("mg", "mg"), ("mps2", "m/s2")]
                : [("dps", "dps"), ("radps", "rad/s")];
            foreach (var (suffix, unit) in units) { columns[$"{channel}_{suffix}"] = ColumnUse.Of(channel, unit); }
        }
        return columns.ToFrozenDictionary();
    }
}
