using System.Diagnostics;
using System.Runtime.InteropServices;

namespace HilRunner.Testing;

/// <summary>Runs the reference library of Debian's Python (python3-scipy) on arrays of doubles.</summary>
internal static class Scipy
{
    private const string Python = "/usr/bin/python3";

    /// <param name="expression">Python; x is the input array, s is scipy.signal, sp is scipy.special, np is numpy.</param>
    public static double[] Evaluate(string expression, ReadOnlySpan<double> x) => Run($"y = {expression}", x);

    /// <param name="statements">As for an expression; the result is to be in y.</param>
    public static double[] Run(string statements, ReadOnlySpan<double> x = default)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllBytes(folder.File("in"), MemoryMarshal.AsBytes(x).ToArray());
        string script = string.Join('\n',
            "import numpy as np, scipy.signal as s, scipy.special as sp", $"x = np.fromfile('{folder.File("in")}')",
            statements, $"np.asarray(y, dtype=float).tofile('{folder.File("out")}')");
        using var process = Process.Start(new ProcessStartInfo(Python, ["-c", script]) { RedirectStandardError = true })
            ?? throw new InvalidOperationException($"{Python} does not start");
        string errors = process.StandardError.ReadToEnd();
        process.WaitForExit();
        Assert.That(process.ExitCode, Is.Zero, $"needs {Python} with python3-scipy: {errors}");
        return MemoryMarshal.Cast<byte, double>(File.ReadAllBytes(folder.File("out"))).ToArray();
    }
}
