using System.Diagnostics;
using System.Text.Json;

namespace HilRunner.Fuzz.Tests.Running;

/// <summary>The tests' end of a worker: asks, and begins a new one where it died.</summary>
internal sealed class WorkerProcess(Stock stock, string folder) : IDisposable
{
    /// <summary>Crashes that are counted before a reader is given up.</summary>
    private const int MostDeaths = 8;
    private const int LongestLastWords = 1500;
    private readonly string _progress = Path.Combine(folder, "progress");
    private Process? _process;
    private Task<string>? _errors;

    /// <summary>Reads cases with seeds from <paramref name="first"/> on.</summary>
    public ReaderResult Read(string reader, int first, int count)
    {
        var sum = new ReaderResult(0, 0, 0, 0, [], 0, 0, 0, 0, 0);
        for (int deaths = 0; count > 0 && deaths < MostDeaths;)
        {
            var part = Ask(new(reader, first, count, _progress));
            sum += part;
            if (part.Ended) { break; }
            deaths++;
            int next = part.Wrong[0].Seed + 1;
            (first, count) = (next, count - (next - first));
        }
        return sum;
    }

    public void Dispose() => End();

    /// <summary>This program in a process of its own, whose heap ends at what a case may hold.</summary>
    public static Process Start(params string[] arguments)
    {
        var start = new ProcessStartInfo(Path.Combine(AppContext.BaseDirectory, "HilRunner.Fuzz.Tests"),
            arguments) { RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true };
        start.Environment["DOTNET_GCHeapHardLimit"] =
            Worker.HeapBytes.ToString("X", System.Globalization.CultureInfo.InvariantCulture);
        start.Environment["DOTNET_gcConcurrent"] = "0";
        start.Environment["NO_COLOR"] = "1";
        return Process.Start(start)!;
    }

    private ReaderResult Ask(Worker.Question question)
    {
        if (_process is null) { Begin(); }
        File.WriteAllBytes(_progress, BitConverter.GetBytes(question.First));
        try { _process!.StandardInput.WriteLine(JsonSerializer.Serialize(question)); }
        catch (IOException)
        {
            // It is gone; what it said last is read below.
        }
        string? answer = _process!.StandardOutput.ReadLine();
        if (answer is not null)
        {
            var result = JsonSerializer.Deserialize<ReaderResult>(answer)!;
            if (!result.Ended) { End(); }
            return result;
        }
        _process.WaitForExit();
        string words = _errors!.Result;
        int seed = BitConverter.ToInt32(File.ReadAllBytes(_progress));
        string place = words.Contains("Stack overflow", StringComparison.Ordinal)
            ? "stack overflow" : $"the process died with {_process.ExitCode}";
        End();
        // How far it came is known, not what became of the cases before.
        return new ReaderResult(seed - question.First + 1,
            0, 0, 0, [new(seed, place, words[..Math.Min(words.Length, LongestLastWords)])], 1, 0, 0, 0, 0) { Ended = false };
    }

    private void Begin()
    {
        _process = Start("worker", stock.Folder);
        _errors = _process.StandardError.ReadToEndAsync();
    }

    private void End()
    {
        if (_process is null) { return; }
        _process.StandardInput.Dispose();
        if (!_process.WaitForExit(TimeSpan.FromSeconds(5))) { _process.Kill(entireProcessTree: true); }
        _process.Dispose();
        _process = null;
    }
}
