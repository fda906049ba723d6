using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Tests.Truth;

/// <summary>One row of the truth table: a device whose every time is known because it was set.</summary>
internal sealed record TruthRow(
    int RateHz, double ThinkMs, double LinkInMs, double LinkOutMs, double JitterMs, double OffsetS, double SkewPpm, bool Reset, double LoseAnswers)
{
    /// <summary>True: the device gives sample numbers; false: only its clock's stamps.</summary>
    public bool Numbered { get; init; }

    /// <summary>
    /// Fourteen of the 864 combinations, such that every pair of values of two columns stands in at least one row (a test holds
    /// that against this list). Found by a seeded greedy search.
    /// </summary>
    public static IReadOnlyList<TruthRow> Table { get; } =
    [
        //  rate think  in  out jitter offset s  skew  reset  lost
        new(100,   0, 30,   0,  0, -3600, -200, true, 0.3),
        new(100,   0,  0,   0, 30,  3600,    0, true, 0.3),
        new(100,  20,  0,   0,  0,     0, -200, true, 0.3),
        new(100,  20,  5,  25,  0,  3600,    0, true, 0.3),
        new(100,  20,  0,   0, 30,  3600,  200, true, 0),
        new(100, 250,  5,  25,  0, -3600,  200, false, 0),
        new(800,   0,  0,   0,  0,  3600,  200, true, 0),
        new(800,   0,  5,  25,  0,     0, -200, false, 0),
        new(800,  20, 30,   0,  0,  3600,    0, false, 0.3),
        new(800,  20,  0,   0, 30, -3600,  200, true, 0.3),
        new(800, 250,  0,   0,  0, -3600,    0, false, 0.3),
        new(800, 250, 30,   0,  0,     0,  200, true, 0),
        new(800, 250,  0,   0, 30,     0,    0, true, 0),
        new(800, 250,  0,   0, 30,  3600, -200, false, 0.3),
    ];

    public SampleRate Rate => new(RateHz * 1000L);

    /// <summary>The longest that a sample may be on the way to its decision's being made, beside the model's own samples.</summary>
    public double LongestMs => LinkInMs + JitterMs + ThinkMs;

    /// <summary>The values by which pairs are counted; what the link takes is one of them.</summary>
    public object[] Values => [RateHz, ThinkMs, (LinkInMs, LinkOutMs, JitterMs), OffsetS, SkewPpm, Reset, LoseAnswers];

    public VirtualDeviceOptions Device(string model, ulong seed, long? resetAt) => new()
    {
        Model = model,
        CreditWindow = Reset ? 0 : 256,
        Think = TimeSpan.FromMilliseconds(ThinkMs),
        LinkIn = TimeSpan.FromMilliseconds(LinkInMs),
        LinkOut = TimeSpan.FromMilliseconds(LinkOutMs),
        LinkJitter = TimeSpan.FromMilliseconds(JitterMs),
        ClockOffset = TimeSpan.FromSeconds(OffsetS),
        ClockSkewPpm = SkewPpm,
        LoseAnswers = LoseAnswers,
        ResetAt = resetAt,
        Seed = seed,
    };

    public override string ToString() => FormattableString.Invariant(
        $"{RateHz} Hz, think {ThinkMs} ms, link {LinkInMs}/{LinkOutMs} +{JitterMs} ms, {OffsetS:+0;-0;0} s, {SkewPpm:+0;-0;0} ppm, {(Reset ? "reset" : "no reset")}, {LoseAnswers:0 %} lost, {(Numbered ? "numbers" : "stamps")}");
}
