using System.Diagnostics;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <param name="Code">Exit code.</param>
internal sealed record HilResult(int Code, string Output, string Errors);

/// <summary>
/// The command line as a user calls it, from the top of the checkout, without a terminal: within this process, or the built
/// executable where the process is what is tried (its start, its exit code, its signals, its death).
/// </summary>
internal static class Hil
{
    private static readonly TimeSpan s_limit = TimeSpan.FromMinutes(3);

    public static string Executable { get; } = Path.Combine(AppContext.BaseDirectory, OperatingSystem.IsWindows() ? "hil.exe" : "hil");

    /// <param name="folder">Where a user stands who does it; a process of its own, since a folder is one process's.</param>
    public static HilResult RunIn(string folder, params string[] arguments)
    {
        Room.Await();
        var start = StartInfo(arguments);
        start.WorkingDirectory = folder;
        using var process = Process.Start(start)!;
        return End(process, s_limit);
    }

    /// <summary>Within this process; runs are still played by a player of its own.</summary>
    public static HilResult Run(params string[] arguments)
    {
        Room.Await();
        var result = InProcess.Run(arguments, s_limit);
        Assert.That(result, Is.Not.Null, $"hil {string.Join(' ', arguments)} did not end within {s_limit}");
        return result!;
    }

    public static HilResult RunProcess(params string[] arguments)
    {
        using var process = Start(arguments);
        return End(process, s_limit);
    }

    public static Process Start(params string[] arguments)
    {
        Room.Await();
        return Process.Start(StartInfo(arguments))!;
    }

    /// <summary>
    /// Its standard streams are the test's, and an interrupt ends it even where the test itself was started with interrupts
    /// ignored.
    /// </summary>
    public static ProcessStartInfo StartInfo(params string[] arguments)
    {
        var start = new ProcessStartInfo
        {
            WorkingDirectory = TestPaths.Root,
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        string[] words = [.. Interruptible, Executable, .. arguments];
        start.FileName = words[0];
        foreach (string word in words[1..]) { start.ArgumentList.Add(word); }
        start.Environment["NO_COLOR"] = "1";
        return start;
    }

    /// <summary>
    /// Words before a program's own that give it the system's answer to signals back: a shell starts what it puts in the
    /// background with interrupts ignored, nohup with hang-ups, and children take that over. The program takes the place of this
    /// one: same process, same id.
    /// </summary>
    public static string[] Interruptible { get; } = OperatingSystem.IsLinux() ? ["env", "--default-signal=HUP,INT,QUIT,TERM"]
        : [];

    /// <summary>Closes its input and waits for its end; what it said.</summary>
    public static HilResult End(Process process, TimeSpan limit)
    {
        process.StandardInput.Close();
        var output = process.StandardOutput.ReadToEndAsync();
        var errors = process.StandardError.ReadToEndAsync();
        if (!process.WaitForExit(limit))
        {
            process.Kill(entireProcessTree: true);
            Assert.Fail($"hil did not end within {limit}");
        }
        return new(process.ExitCode, output.Result, errors.Result);
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
