using System.Globalization;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Reviewing;

/// <summary>An answer to the question for the device's counters, with what had been heard when it came.</summary>
/// <param name="Values">By name; only those that the device has.</param>
/// <param name="Heard">Decisions, credit, measured samples and features heard so far.</param>
/// <param name="Decisions">Decisions heard so far.</param>
internal sealed record CounterValues(IReadOnlyDictionary<string, ulong> Values, long Heard, long Decisions, HostTime At)
{
    /// <summary>Null where a value is no whole number.</summary>
    public static CounterValues? Read(IReadOnlyDictionary<string, string> fields, long heard, long decisions, HostTime at)
    {
        var values = new Dictionary<string, ulong>(StringComparer.Ordinal);
        foreach (string name in CountersQuery.Names.Where(fields.ContainsKey))
        {
            if (!ulong.TryParse(fields[name], NumberStyles.None, CultureInfo.InvariantCulture, out ulong value)) { return null; }
            values[name] = value;
        }
        return new(values, heard, decisions, at);
    }

    /// <summary>By how much a counter grew from before the run to after it; null: the device does not have it.</summary>
    public static ulong? Grown(string name, CounterValues? before, CounterValues after, CountersQuery query)
    {
        if (!after.Values.TryGetValue(name, out ulong now)) { return null; }
        if (query.FromBegin || before is null || !before.Values.TryGetValue(name, out ulong then)) { return query.FromBegin ? now : null; }
        ulong gone = unchecked(now - then);
        return query.Bits >= 64 ? gone : gone & ((1UL << query.Bits) - 1);
    }
}
