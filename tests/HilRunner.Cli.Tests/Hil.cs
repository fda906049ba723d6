using System.Diagnostics;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <param name="Code">Exit code.</param>
internal sealed record HilResult(int Code, string Output, string Errors);

/// <summary>Runs the built executable as a user does, from the top of the checkout, without a terminal.</summary>
internal static class Hil
{
    private static readonly TimeSpan s_limit = TimeSpan.FromMinutes(3);

    public static string Executable { get; } = Path.Combine(AppContext.BaseDirectory, OperatingSystem.IsWindows() ? "hil.exe" : "hil");

    public static HilResult Run(params string[] arguments) => RunIn(TestPaths.Root, arguments);

    /// <param name="folder">Where a user stands who does it.</param>
    public static HilResult RunIn(string folder, params string[] arguments)
    {
        using var process = StartIn(folder, arguments);
        process.StandardInput.Close();
        var output = process.StandardOutput.ReadToEndAsync();
        var errors = process.StandardError.ReadToEndAsync();
        if (!process.WaitForExit(s_limit))
        {
            process.Kill(entireProcessTree: true);
            Assert.Fail($"hil {string.Join(' ', arguments)} did not end within {s_limit}");
        }
        return new(process.ExitCode, output.Result, errors.Result);
    }

    public static Process Start(params string[] arguments) => StartIn(TestPaths.Root, arguments);

    private static Process StartIn(string folder, string[] arguments)
    {
        var start = new ProcessStartInfo(Executable)
        {
            WorkingDirectory = folder,
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        foreach (string argument in arguments) { start.ArgumentList.Add(argument); }
        start.Environment["NO_COLOR"] = "1";
        return Process.Start(start)!;
    }

    /// <summary>Waits for what another process brings about; fails after a minute.</summary>
    public static void Await(Func<bool> holds, string what)
    {
        var limit = Stopwatch.StartNew();
        while (!holds())
        {
            Assert.That(limit.Elapsed, Is.LessThan(TimeSpan.FromSeconds(60)), what);
            Task.Delay(20).Wait();
        }
    }
}
