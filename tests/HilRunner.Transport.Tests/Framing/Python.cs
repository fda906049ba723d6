using System.Diagnostics;

namespace HilRunner.Transport.Tests.Framing;

/// <summary>The reference interpreter of Debian, for cross-checks.</summary>
internal static class Python
{
    public const string Path = "/usr/bin/python3";

    public static string Run(string script, string input, params string[] arguments)
    {
        var start = new ProcessStartInfo(Path)
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        start.ArgumentList.Add("-c");
        start.ArgumentList.Add(script);
        foreach (string argument in arguments) { start.ArgumentList.Add(argument); }
        using Process process = Process.Start(start)!;
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        Task<string> errors = process.StandardError.ReadToEndAsync();
        process.StandardInput.Write(input);
        process.StandardInput.Close();
        process.WaitForExit();
        Assert.That(process.ExitCode, Is.Zero, errors.Result);
        return output.Result;
    }
}
