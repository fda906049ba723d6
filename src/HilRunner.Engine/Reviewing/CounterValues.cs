using System.Globalization;
using HilRunner.Core.Rigs;

namespace HilRunner.Engine.Reviewing;

/// <summary>An answer to the question for the device's counters, with what had been heard when it came.</summary>
/// <param name="Values">By name; only those that the device has.</param>
/// <param name="Heard">Messages heard so far that the device counts as said.</param>
internal sealed record CounterValues(IReadOnlyDictionary<string, ulong> Values, long Heard)
{
    /// <summary>Null where a value is no whole number.</summary>
    public static CounterValues? Read(IReadOnlyDictionary<string, string> fields, long heard)
    {
        var values = new Dictionary<string, ulong>(StringComparer.Ordinal);
        foreach (string name in CountersQuery.Names.Where(fields.ContainsKey))
        {
            if (!ulong.TryParse(fields[name], NumberStyles.None, CultureInfo.InvariantCulture, out ulong value)) { return null; }
            values[name] = value;
        }
        return new(values, heard);
    }
}

/// <summary>The device's counters over one run: what they grew by from the answer before it to the answer after it.</summary>
internal sealed class CountedRun
{
    /// <summary>
    /// A number that wraps at so many bits or more is believed: one in 65 536 losses is just as long as it takes to begin anew,
    /// and is not looked for.
    /// </summary>
    public const int BelievedBits = 16;

    private readonly CountersQuery _query;
    private readonly CounterValues? _before;
    private readonly CounterValues _after;
    /// <summary>The bits that a counter has.</summary>
    private readonly ulong _mask;

    private CountedRun(CountersQuery query, CounterValues? before, CounterValues after)
    {
        (_query, _before, _after) = (query, before, after);
        _mask = query.Bits >= 64 ? ulong.MaxValue : (1UL << query.Bits) - 1;
    }

    /// <summary>Null where an answer lacks that is needed.</summary>
    /// <param name="query">What is counted, and since when.</param>
    /// <param name="before">The last answer before begin.</param>
    /// <param name="after">The last one since.</param>
    public static CountedRun? Of(CountersQuery query, CounterValues? before, CounterValues? after) =>
        after is null || (before is null && !query.FromBegin) ? null : new(query, before, after);

    /// <summary>Messages that were heard between the two answers.</summary>
    public long Heard => _after.Heard - (_before?.Heard ?? 0);

    /// <summary>At which number a counter begins anew; null: beyond what any run counts.</summary>
    public long? WrapsAt => _query.Bits < 63 ? 1L << _query.Bits : null;

    /// <summary>By how much a counter grew; null: the device does not have it.</summary>
    public ulong? Grown(string name)
    {
        if (!_after.Values.TryGetValue(name, out ulong now)) { return null; }
        if (_query.FromBegin) { return now; }
        return _before!.Values.TryGetValue(name, out ulong then) ? unchecked(now - then) & _mask : null;
    }

    /// <summary>Whether a counter of this width shows a number so.</summary>
    public bool Shows(ulong counter, long number) => counter == ((ulong)number & _mask);

    /// <summary>
    /// Whether a counter of this width tells a number from every smaller one that it shows alike, or is wide enough to be
    /// believed.
    /// </summary>
    public bool Covers(long number) => _query.Bits >= BelievedBits || number < WrapsAt;

    /// <summary>
    /// It took all that was sent and all that it said was heard: nothing was lost on the way. False where it does not count both.
    /// </summary>
    public bool NothingWasLost(long sent) =>
        Grown("received") is { } received && Shows(received, sent) && Covers(sent)
        && Grown("said") is { } said && Shows(said, Heard) && Covers(Heard);
}
