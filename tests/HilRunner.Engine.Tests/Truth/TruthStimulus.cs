using HilRunner.Core.Numerics;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;

namespace HilRunner.Engine.Tests.Truth;

/// <summary>A made stimulus that changes class as often as the row lets the device follow, and the small model that follows it.</summary>
internal static class TruthStimulus
{
    /// <summary>The model sees a change in 2 or 3 samples: its window of 3 needs 2 of the new level, its hop is 2.</summary>
    private const int ModelSamples = 3;
    // So much longer than the longest that a decision takes is each interval, for the wake-ups of the threads on its way.
    private const double MarginMs = 12;
    private const int Low = 1000;
    private const int High = 2000;

    public static string Model(TruthRow row) => FormattableString.Invariant($$$"""
        model: truth
        classes: [resting, carried]
        input: {rate: {{{row.RateHz}}} Hz, channels: {ax: 1 mg, ay: 1 mg, az: 1 mg}}
        window: {{{3000.0 / row.RateHz}}} ms
        hop: {{{2000.0 / row.RateHz}}} ms
        tree: {feature: mean(az), below: {{{(Low + High) / 2}}}, then: {class: resting}, else: {class: carried}}
        """);

    /// <param name="length">At least this long; the last interval is whole.</param>
    public static Stimulus Make(TruthRow row, TimeSpan length, ulong seed)
    {
        var random = new Xoshiro256(seed);
        // A numbered decision finds its trial however late it is; a stamp must fall into it, and so must what the tool makes of it:
        // late by half of what the link is slower on the way back.
        double holdMs = (row.Numbered ? 0 : row.LongestMs + MarginMs + Math.Max(0, row.LinkOutMs - row.LinkInMs) / 2) + (ModelSamples + 1) * 1000.0 / row.RateHz;
        int hold = (int)Math.Ceiling(holdMs / 1000 * row.RateHz);
        var az = new List<int>();
        var reference = new List<ReferenceInterval>();
        while (az.Count < length.TotalSeconds * row.RateHz)
        {
            int from = az.Count;
            bool high = reference.Count % 2 == 1;
            // Of any length, so that changes fall anywhere between two windows.
            int samples = hold + (int)(random.Next() % 3);
            az.AddRange(Enumerable.Repeat(high ? High : Low, samples));
            reference.Add(new(row.Rate.TimeOf(from), row.Rate.TimeOf(az.Count), high ? "carried" : "resting", reference.Count));
        }
        return new()
        {
            Rate = row.Rate,
            ChannelNames = ["ax", "ay", "az"],
            Counts = [new int[az.Count], new int[az.Count], [.. az]],
            UnitsPerCount = [0.001, 0.001, 0.001],
            LeadSamples = 0,
            Reference = reference,
            Clipped = [0, 0, 0],
            Sources = [],
        };
    }

    public static string Rig(TruthRow row)
    {
        string decision = row.Numbered
            ? @"^c (?<n>\d+) (?<class>\w+) (?<t_us>\d+) (?<score>[\d.]+)$"
            : @"^c \d+ (?<class>\w+) (?<t_us>\d+) (?<score>[\d.]+)$";
        string credit = row.Reset ? "" : @"credit: '^k (?<n>\d+)$'";
        return FormattableString.Invariant($$$"""
            rig: truth
            device:
              link: {builtin: {model: model.yaml}}
              on_open: {wait: 2 s, until: booted}
              framing: lines
              hears: {begin: "begin {rate_mhz}", sample: "s {n} {ax} {ay} {az}", end: "end"}
              says:
                decisions: {handling: '{{{decision}}}'}
                booted: '^boot (?<version>\S+)'
                {{{credit}}}
              input:
                rate: {{{row.RateHz}}} Hz
                channels: {ax: {count: 1 mg, range: 8 g}, ay: {count: 1 mg, range: 8 g}, az: {count: 1 mg, range: 8 g}}
              clock: {ask: "t {token}", answer: '^t (?<token>\d+) (?<t_us>\d+)$', bits: 32, every: 100 ms}
            before_each: {send: "reset", wait: 2 s, until: booted}
            """);
    }
}
