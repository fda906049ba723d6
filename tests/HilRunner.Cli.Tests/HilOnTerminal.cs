using System.Diagnostics;
using System.Text;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>The built executable on a pseudo-terminal of its own (util-linux script), with a person's keys.</summary>
internal sealed class HilOnTerminal : IDisposable
{
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(60);
    private readonly Process _process;
    private readonly Thread _reading;
    private readonly StringBuilder _shown = new();
    private readonly object _gate = new();

    public HilOnTerminal(params string[] arguments)
    {
        string command = string.Join(' ', Hil.Interruptible.Append(Hil.Executable).Concat(arguments).Select(a => $"'{a}'"));
        var start = new ProcessStartInfo("script", ["-qefc", command, "/dev/null"])
        {
            WorkingDirectory = TestPaths.Root,
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        start.Environment["NO_COLOR"] = "1";
        start.Environment["TERM"] = "xterm";
        Room.Await();
        _process = Process.Start(start)!;
        // Taken here: a test may be over before the thread has its first turn.
        var output = _process.StandardOutput;
        _reading = new Thread(() => Read(output)) { IsBackground = true };
        _reading.Start();
    }

    public string Shown { get { lock (_gate) { return _shown.ToString(); } } }

    public void Press(string keys)
    {
        _process.StandardInput.Write(keys);
        _process.StandardInput.Flush();
    }

    /// <summary>Waits until the terminal has shown this.</summary>
    public void WaitFor(string text) => WaitUntil(() => Shown.Contains(text, StringComparison.Ordinal), $"\"{text}\"");

    public void WaitUntil(Func<bool> condition, string what)
    {
        bool came = SpinWait.SpinUntil(() =>
        {
            if (condition()) { return true; }
            Task.Delay(10).Wait();
            return false;
        }, s_limit);
        Assert.That(came, $"waited {s_limit} for {what}; shown so far:\n{Shown}");
    }

    /// <summary>The terminal is closed over what runs on it, as when its window is or a connection breaks.</summary>
    public void Close()
    {
        _process.Kill();
        _process.WaitForExit();
    }

    /// <summary>Waits for the end; the exit code.</summary>
    public int End()
    {
        Assert.That(_process.WaitForExit(s_limit), $"did not end; shown so far:\n{Shown}");
        Assert.That(_reading.Join(s_limit), $"its terminal is still open; shown so far:\n{Shown}");
        TestContext.Out.WriteLine(Shown);
        return _process.ExitCode;
    }

    public void Dispose()
    {
        if (!_process.HasExited) { _process.Kill(entireProcessTree: true); }
        _reading.Join(s_limit);
        _process.Dispose();
    }

    private void Read(StreamReader output)
    {
        var buffer = new char[4096];
        int count;
        while ((count = output.Read(buffer)) > 0)
        {
            lock (_gate) { _shown.Append(buffer, 0, count); }
        }
    }
}
