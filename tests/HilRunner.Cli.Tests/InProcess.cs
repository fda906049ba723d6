using System.Text;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>
/// Calls the command line within the test's own process: as the executable without a terminal and without input, from the top of
/// the checkout, with an output of its own for each call. Several calls may be under way at once.
/// </summary>
internal static class InProcess
{
    /// <summary>Calls wait for players and ports: each may hold some threads, and a new one must not be long in coming.</summary>
    private const int Threads = 64;
    private static readonly AsyncLocal<Call?> s_call = new();

    static InProcess()
    {
        Directory.SetCurrentDirectory(TestPaths.Root);
        Environment.SetEnvironmentVariable("NO_COLOR", "1");
        ThreadPool.SetMinThreads(Threads, Threads);
        Console.SetIn(TextReader.Null);
        Terminal.Install(
            TextWriter.Synchronized(new ByCall(Console.Out, call => call.Output)),
            TextWriter.Synchronized(new ByCall(Console.Error, call => call.Errors)));
    }

    /// <summary>Null: it did not end within the limit, and still runs.</summary>
    public static HilResult? Run(string[] arguments, TimeSpan limit)
    {
        var call = new Call();
        var running = Task.Run(() =>
        {
            // Of this flow alone, and of all that it starts.
            s_call.Value = call;
            return Program.RunAsync(arguments);
        });
        return running.Wait(limit) ? new(running.Result, call.Output.ToString(), call.Errors.ToString()) : null;
    }

    /// <summary>
    /// Several threads of one call may write at once: only <see cref="Console"/>, which takes its turns, writes to these.
    /// </summary>
    private sealed class Call
    {
        public StringWriter Output { get; } = new();

        public StringWriter Errors { get; } = new();
    }

    /// <summary>
    /// Hands what is written to the writer of the call that it belongs to; what belongs to none, to the one that was there
    /// before.
    /// </summary>
    private sealed class ByCall(TextWriter otherwise, Func<Call, TextWriter> of) : TextWriter
    {
        public override Encoding Encoding => otherwise.Encoding;

        private TextWriter Target => s_call.Value is { } call ? of(call) : otherwise;

        public override void Write(char value) => Target.Write(value);

        public override void Write(char[] buffer, int index, int count) => Target.Write(buffer, index, count);

        public override void Write(string? value) => Target.Write(value);

        public override void Flush() => Target.Flush();
    }
}
