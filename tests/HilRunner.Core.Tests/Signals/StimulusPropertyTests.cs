using CsCheck;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals;

/// <summary>What holds for every stimulus: recordings, cuts, rates and labels at random.</summary>
public class StimulusPropertyTests
{
    private sealed record Piece(long MilliHertz, int Samples, long[] Gaps, double CutFrom, double CutTo);

    private static readonly Gen<long> s_rate = Gen.OneOf(Gen.OneOf(50_000L, 100_000L, 20_000L, 59_940L, 800_000L, 31_250L), Gen.Long[50, 2_000].Select(tenths => tenths * 100));

    private static readonly Gen<Piece> s_piece =
        from rate in s_rate
        from samples in Gen.Int[1, 120]
        from gaps in Gen.Long[1, 700_000_000].Array[0, 8]
        from a in Gen.Double[0.0, 1.0]
        from b in Gen.Double[0.0, 1.0]
        select new Piece(rate, samples, gaps, Math.Min(a, b), Math.Max(a, b));

    [Test]
    public void Reference_lies_inside_in_order_and_keeps_every_labelled_nanosecond_of_the_cut()
    {
        using var folder = TestPaths.NewFolder();
        Gen.Select(s_piece.Array[1, 4], s_rate).Sample((pieces, deviceRate) =>
        {
            var rate = new SampleRate(deviceRate);
            var steps = new List<StimulusStep>();
            long labelledNs = 0, stretchedNs = 0, samples = 0;
            for (int p = 0; p < pieces.Length; p++)
            {
                var recording = Made(pieces[p]);
                RecordingFile.Write(folder.File($"{p}.csv"), recording);
                StimulusTime from = new((long)(pieces[p].CutFrom * recording.Duration.Ns)), to = new((long)(pieces[p].CutTo * recording.Duration.Ns));
                int SamplesEarlierThan(StimulusTime t) => Enumerable.Range(0, recording.SampleCount).Count(n => recording.Rate.TimeOf(n) < t);
                int first = SamplesEarlierThan(from), end = SamplesEarlierThan(to);
                if (first >= end) { continue; }
                steps.Add(new PlayStep($"{p}.csv") { From = from, To = to });
                long played = (long)Math.Ceiling((decimal)(end - first) * deviceRate / pieces[p].MilliHertz);
                StimulusTime cutStart = recording.Rate.TimeOf(first), cutEnd = recording.Rate.TimeOf(end);
                labelledNs += recording.Labels.Sum(l => Math.Max(0, Math.Min(l.End.Ns, cutEnd.Ns) - Math.Max(l.Start.Ns, cutStart.Ns)));
                if (recording.Labels.Any(l => l.Start < cutEnd && l.End >= cutEnd))
                {
                    stretchedNs += (rate.TimeOf(samples + played) - rate.TimeOf(samples)) - (cutEnd - cutStart);
                }
                samples += played;
            }
            if (steps.Count == 0) { return; }

            var stimulus = StimulusBuilder.Build(new() { Name = "s", Steps = steps }, folder.Path, new(rate, [new("az", 0.001, 8)]), 1);

            Assert.That(stimulus.SampleCount, Is.EqualTo(samples));
            var at = StimulusTime.Zero;
            foreach (var interval in stimulus.Reference)
            {
                Assert.That(interval.Start, Is.GreaterThanOrEqualTo(at));
                Assert.That(interval.End, Is.GreaterThan(interval.Start));
                at = interval.End;
            }
            Assert.That(at, Is.LessThanOrEqualTo(stimulus.End));
            Assert.That(stimulus.Reference.Select(r => r.Trial), Is.EqualTo(Enumerable.Range(1, stimulus.Reference.Count)));
            // Sample times are rounded to the nanosecond at either end of a step.
            Assert.That(stimulus.Reference.Sum(r => r.End - r.Start), Is.EqualTo(labelledNs + stretchedNs).Within(steps.Count));
            double stepNs = 1e12 / deviceRate;
            Assert.That(stretchedNs, Is.InRange(-steps.Count, steps.Count * (stepNs + 1)), "less than one sample per step");
        }, iter: 500, threads: 1);
    }

    [Test]
    public void The_same_inputs_give_the_same_stimulus()
    {
        using var folder = TestPaths.NewFolder();
        Gen.Select(s_piece, s_rate, Gen.ULong, Gen.Double[0.0, 0.5]).Sample((piece, deviceRate, seed, noise) =>
        {
            RecordingFile.Write(folder.File("0.csv"), Made(piece));
            var scenario = new Scenario
            {
                Name = "s", Lead = TimeSpan.FromMilliseconds(300),
                Steps = [new PlayStep("0.csv") { NoiseG = noise }, new SynthStep(TimeSpan.FromSeconds(1), "conveyed", new Tone(2, 0.2, new('z')))],
            };
            InputSpec input = new(new(deviceRate), [new("az", 0.001, 2)]);
            Stimulus a = StimulusBuilder.Build(scenario, folder.Path, input, seed), b = StimulusBuilder.Build(scenario, folder.Path, input, seed);
            Assert.That(a.Counts, Is.EqualTo(b.Counts));
            Assert.That(a.Reference, Is.EqualTo(b.Reference));
            Assert.That(a.Clipped, Is.EqualTo(b.Clipped));
            Assert.That(a.Counts[0], Is.All.InRange(-2000, 2000));
        }, iter: 100, threads: 1);
    }

    private static Recording Made(Piece piece)
    {
        var labels = new List<LabelInterval>();
        long at = 0;
        for (int i = 0; i < piece.Gaps.Length; i++)
        {
            long start = at + (i % 3 == 0 ? piece.Gaps[i] : 0);
            at = start + piece.Gaps[i];
            labels.Add(new(new(start), new(at), $"class {i % 3}"));
        }
        double[] az = [.. Enumerable.Range(0, piece.Samples).Select(i => 1 + 0.5 * Math.Sin(i))];
        return new() { Name = "r", Rate = new(piece.MilliHertz), ChannelNames = ["az"], Channels = [az], Labels = labels };
    }
}
