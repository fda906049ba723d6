using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Models;

/// <summary>Motion in device counts, [channel][sample].</summary>
internal static class Motion
{
    /// <summary>The recording of three drops that comes with the parcel tag, its lead included.</summary>
    public static int[][] Drops { get; } = Scenario("drops.yaml");

    /// <summary>A scenario of the parcel tag as it is sent.</summary>
    public static int[][] Scenario(string file)
    {
        string path = Path.Combine(TestPaths.Root, "scenarios", "parcel", file);
        var rig = RigFile.Read(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"));
        return [.. StimulusBuilder.Build(ScenarioFile.Read(path), Path.GetDirectoryName(path)!, rig.Device.Input, seed: 1).Counts];
    }

    /// <summary>
    /// Stretches of rest, tones, random walks, falls with an impact, steps between extremes, and plain noise, 20 to 200 samples
    /// each, on every channel; now and then beyond what a channel can hold.
    /// </summary>
    public static int[][] Random(int channels, int samples, int seed)
    {
        var random = new Random(seed);
        int[][] counts = [.. Enumerable.Range(0, channels).Select(_ => new int[samples])];
        int[] at = new int[channels];
        for (int n = 0; n < samples;)
        {
            int kind = random.Next(6), length = Math.Min(random.Next(20, 200), samples - n);
            double frequency = random.NextDouble() * 0.5, size = Math.Pow(10, random.NextDouble() * 4.6);
            for (int i = 0; i < length; i++, n++)
            {
                for (int c = 0; c < channels; c++)
                {
                    int rest = c == 2 ? 1000 : 0;
                    at[c] = kind switch
                    {
                        0 => rest + random.Next(-3, 4),
                        1 => rest + (int)(size * Math.Sin(2 * Math.PI * frequency * i + c)),
                        2 => at[c] + random.Next(-40, 41),
                        3 => i % 60 < 35 ? random.Next(-20, 21) : i % 60 < 38 ? random.Next(2000, 8000) : rest,
                        4 => (i / 7 + c) % 2 == 0 ? short.MaxValue : short.MinValue,
                        _ => random.Next(-(int)size, (int)size + 1),
                    };
                    at[c] = Math.Clamp(at[c], short.MinValue, short.MaxValue);
                    counts[c][n] = at[c];
                }
            }
        }
        return counts;
    }

    /// <summary>What a correct device reports for it: sample, class and confidence in thousandths.</summary>
    public static List<Reported> Expected(MotionModel model, int[][] counts)
    {
        var runner = new ModelRunner(model);
        var reported = new List<Reported>();
        int[] sample = new int[counts.Length];
        for (int n = 0; n < counts[0].Length; n++)
        {
            for (int c = 0; c < sample.Length; c++) { sample[c] = counts[c][n]; }
            if (runner.Push(n, sample, out var decision)) { reported.Add(new(n, decision.Class, (int)Math.Round(decision.Confidence * 1000))); }
        }
        return reported;
    }
}

/// <param name="Thousandths">The confidence as both formats carry it.</param>
internal readonly record struct Reported(long N, string Class, int Thousandths);
