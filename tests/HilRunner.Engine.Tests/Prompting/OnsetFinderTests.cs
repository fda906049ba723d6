using System.Diagnostics;
using System.Globalization;
using HilRunner.Engine.Prompting;

namespace HilRunner.Engine.Tests.Prompting;

/// <summary>The change point against the formula of Inclán and Tiao (1994), worked out by numpy.</summary>
public class OnsetFinderTests
{
    private const string Formula = """
        import sys, numpy as np
        x = np.array(sys.stdin.read().split(), float)
        x = x - x.mean()
        c = np.cumsum(x * x)
        d = np.abs(c / c[-1] - np.arange(1, len(x) + 1) / len(x))
        print(10 + int(np.argmax(d[9:len(x) - 10])))
        """;

    [Test]
    public void TheFormulasChangePoint([Range(1, 12)] int seed)
    {
        var random = new Random(seed);
        int change = random.Next(60, 440);
        (double before, double after) = seed % 2 == 0 ? (0.01, 0.2) : (0.2, 0.02);
        double[] values = [.. Enumerable.Range(0, 500).Select(n => 1 + (n < change ? before : after) * (random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5))];
        int? found = OnsetFinder.Find(values);
        Assert.That(found, Is.EqualTo(Numpy(values)));
        Assert.That(found, Is.EqualTo(change).Within(15));
    }

    [Test]
    public void NoChange_IsNone()
    {
        var random = new Random(5);
        Assert.That(OnsetFinder.Find([.. Enumerable.Range(0, 500).Select(_ => random.NextDouble())]), Is.Null);
        Assert.That(OnsetFinder.Find([.. Enumerable.Repeat(1.0, 500)]), Is.Null);
        Assert.That(OnsetFinder.Find([1, 2, 3]), Is.Null);
    }

    private static int Numpy(double[] values)
    {
        using var python = Process.Start(new ProcessStartInfo("/usr/bin/python3", ["-c", Formula]) { RedirectStandardInput = true, RedirectStandardOutput = true })!;
        python.StandardInput.Write(string.Join(' ', values.Select(v => v.ToString("R", CultureInfo.InvariantCulture))));
        python.StandardInput.Close();
        return int.Parse(python.StandardOutput.ReadToEnd(), CultureInfo.InvariantCulture);
    }
}
