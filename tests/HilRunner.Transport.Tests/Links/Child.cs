using System.Diagnostics;

namespace HilRunner.Transport.Tests.Links;

/// <summary>A helper program of a test; ended with it.</summary>
internal sealed class Child : IDisposable
{
    private readonly Process _process;

    public Child(string program, params string[] arguments)
    {
        _process = Process.Start(new ProcessStartInfo(program, arguments)
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        })!;
    }

    public int Id => _process.Id;

    public StreamWriter Input => _process.StandardInput;

    /// <summary>The next line it says; fails the test after 10 s without one.</summary>
    public string ReadLine()
    {
        Task<string?> line = _process.StandardOutput.ReadLineAsync();
        Assert.That(line.Wait(TimeSpan.FromSeconds(10)), Is.True, "the helper program says nothing");
        return line.Result ?? throw new AssertionException("the helper program ended: " + _process.StandardError.ReadToEnd());
    }

    /// <summary>All it says until it ends; fails the test when it ends with an error.</summary>
    public string ReadToEnd()
    {
        Task<string> output = _process.StandardOutput.ReadToEndAsync();
        Task<string> errors = _process.StandardError.ReadToEndAsync();
        Assert.That(_process.WaitForExit(TimeSpan.FromSeconds(20)), Is.True, "the helper program does not end");
        Assert.That(_process.ExitCode, Is.Zero, () => errors.Result);
        return output.Result;
    }

    public static string Python(string script, params string[] arguments)
    {
        using var child = new Child("/usr/bin/python3", ["-c", script, .. arguments]);
        return child.ReadToEnd();
    }

    public void Dispose()
    {
        if (!_process.HasExited) { _process.Kill(entireProcessTree: true); }
        _process.WaitForExit();
        _process.Dispose();
    }
}
