using System.Diagnostics;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Bench;

/// <summary>Runs a helper program to its end, from the top of the checkout.</summary>
internal static class Tool
{
    /// <summary>What it said on stdout; fails the test with all it said when it ends with an error.</summary>
    public static string Run(double limitS, string program, params string[] arguments)
    {
        var (code, output, errors) = Try(limitS, program, arguments);
        Assert.That(code, Is.Zero, () => $"{program} {string.Join(' ', arguments)}\n{output}{errors}");
        return output;
    }

    public static (int Code, string Output, string Errors) Try(double limitS, string program, params string[] arguments)
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            WorkingDirectory = TestPaths.Root,
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using var process = Process.Start(start)!;
        process.StandardInput.Close();
        var output = process.StandardOutput.ReadToEndAsync();
        var errors = process.StandardError.ReadToEndAsync();
        if (!process.WaitForExit(TimeSpan.FromSeconds(limitS)))
        {
            process.Kill(entireProcessTree: true);
            Assert.Fail($"{program} {string.Join(' ', arguments)} did not end within {limitS} s");
        }
        return (process.ExitCode, output.Result, errors.Result);
    }
}
