using BenchmarkDotNet.Attributes;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Scoring;

namespace HilRunner.Benchmarks.Scoring;

/// <summary>A day of motion: 24 h, 100 000 decisions, 2 880 reference intervals, events among them.</summary>
[Config(typeof(ShortInProcess))]
public class ScoringBenchmarks
{
    private const int Seed = 7;
    private static readonly string[] Classes = ["resting", "carried", "conveyed", "dropped"];

    private ScoreInput _input = null!;
    private Score _score = null!;

    [Params(10_000, 100_000)]
    public int Decisions { get; set; }

    [GlobalSetup]
    public void SetUp()
    {
        var random = new Random(Seed);
        const long Second = StimulusTime.NsPerSecond;
        const long Day = 86_400 * Second;
        var reference = new List<ReferenceInterval>();
        for (long at = 0; at < Day; at += 30 * Second)
        {
            reference.Add(new(new(at), new(at + 30 * Second), Classes[random.Next(100) < 5 ? 3 : random.Next(3)], reference.Count));
        }
        _input = new()
        {
            Reference = reference,
            Decisions =
            [
                .. Enumerable.Range(0, Decisions).Select(i =>
                    new Decision(new(i * (Day / Decisions) + random.NextInt64(1_000_000)), Classes[random.Next(4)])),
            ],
            End = new(Day),
            Rules = new()
            {
                Events = ["dropped"],
                WithinNs = 4 * Second,
                GraceNs = Second,
                Limits =
                [
                    new(Measure.Recognised) { AtLeast = 0.9 }, new(Measure.Reaction) { Statistic = Statistic.P95, AtMost = 2 },
                    new(Measure.ChatterPerMinute) { AtMost = 2 },
                ],
            },
        };
        _score = Scorer.Score(_input);
    }

    [Benchmark]
    public Score Score() => Scorer.Score(_input);

    [Benchmark]
    public void WriteJson() => ScoreJson.Write(_score, Stream.Null);
}
