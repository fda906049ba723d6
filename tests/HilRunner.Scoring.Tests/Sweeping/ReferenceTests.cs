using System.Diagnostics;
using System.Text.Json;
using HilRunner.Scoring.Statistics;
using HilRunner.Scoring.Sweeping;
using HilRunner.Testing;

namespace HilRunner.Scoring.Tests.Sweeping;

/// <summary>Intervals against scipy.stats and logistic curves against statsmodels (Debian's python3-scipy and python3-statsmodels), on the same numbers.</summary>
public class ReferenceTests
{
    private const int Cases = 60;

    [Test]
    public void Means_differences_and_curves_are_those_of_the_libraries()
    {
        var random = new Random(20261129);
        double[][] samples = [.. Enumerable.Range(0, Cases).Select(i => Values(2 + i % 9))];
        (double[] Before, double[] Now)[] pairs = [.. Enumerable.Range(0, Cases).Select(i => (Values(2 + i % 5), Values(2 + i % 7)))];
        (double[] Levels, int[] Switched)[] trials = [.. Enumerable.Range(0, Cases).Select(_ => Trials())];
        var answers = Python(new { mean = samples, difference = pairs.Select(p => new[] { p.Before, p.Now }), logistic = trials.Select(t => new object[] { t.Levels, t.Switched }) });

        for (int i = 0; i < Cases; i++)
        {
            var mean = MeanInterval.Of(samples[i], 0, 0.95);
            AreClose([mean.Mean, mean.Interval.Low, mean.Interval.High], answers.GetProperty("mean")[i], 1e-9);
            var difference = Welch.Test(pairs[i].Before, pairs[i].Now, 0.95)!.Value;
            AreClose([difference.Shift, difference.Interval.Low, difference.Interval.High, difference.P], answers.GetProperty("difference")[i], 1e-8);
            var curve = ResponseCurve.Fit([.. trials[i].Levels.Zip(trials[i].Switched, (l, s) => (l, s == 1))], 0.95)!;
            AreClose([curve.Midpoint, curve.MidpointInterval.Low, curve.MidpointInterval.High, curve.Slope!.Value, curve.SlopeError!.Value], answers.GetProperty("logistic")[i], 1e-6);
        }

        double[] Values(int count) => [.. Enumerable.Range(0, count).Select(_ => 40 + 20 * random.NextDouble())];

        (double[], int[]) Trials()
        {
            for (; ; )
            {
                double middle = 30 + 40 * random.NextDouble(), slope = 0.05 + 0.3 * random.NextDouble();
                double[] levels = [.. Enumerable.Range(0, 60).Select(_ => 100 * random.NextDouble())];
                int[] switched = [.. levels.Select(l => random.NextDouble() < 1 / (1 + Math.Exp(-slope * (l - middle))) ? 1 : 0)];
                var still = levels.Where((_, i) => switched[i] == 0).DefaultIfEmpty(0).Max();
                if (switched.Contains(0) && switched.Contains(1) && levels.Where((_, i) => switched[i] == 1).Min() < still) { return (levels, switched); }
            }
        }
    }

    /// <summary>Trials that part have no likeliest slope (Albert and Anderson, Biometrika 71:1–10, 1984).</summary>
    [Test]
    public void Trials_that_part_sharply_have_no_slope()
    {
        var sharp = ResponseCurve.Fit([(10, false), (20, false), (30, true), (40, true)], 0.95)!;
        Assert.That((sharp.Midpoint, sharp.MidpointInterval.Low, sharp.MidpointInterval.High, sharp.Slope), Is.EqualTo((25.0, 20.0, 30.0, (double?)null)));
        Assert.That(ResponseCurve.Fit([(10, true), (20, true)], 0.95), Is.Null);
        Assert.That(ResponseCurve.Fit([(10, true), (20, false)], 0.95), Is.Null, "a share that falls is no response to the level");
        Assert.That(ResponseCurve.Fit([(10, true), (20, false), (30, true), (40, false), (50, false)], 0.95), Is.Null);
    }

    private static void AreClose(double[] ours, JsonElement theirs, double relative)
    {
        for (int i = 0; i < ours.Length; i++) { Assert.That(ours[i], Is.EqualTo(theirs[i].GetDouble()).Within(relative * Math.Max(1, Math.Abs(ours[i])))); }
    }

    private static JsonElement Python(object job)
    {
        var start = new ProcessStartInfo("/usr/bin/python3") { RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true };
        start.ArgumentList.Add(Path.Combine(TestPaths.Root, "tests", "HilRunner.Scoring.Tests", "Sweeping", "reference.py"));
        using var process = Process.Start(start)!;
        var errors = process.StandardError.ReadToEndAsync();
        JsonSerializer.Serialize(process.StandardInput.BaseStream, job);
        process.StandardInput.Close();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.That(process.ExitCode, Is.Zero, $"python3 with numpy, scipy and statsmodels (apt install python3-statsmodels): {errors.Result}");
        return JsonDocument.Parse(output).RootElement;
    }
}
