using System.ComponentModel;
using System.Diagnostics;
using System.Text;
using System.Text.Json;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// A program that is asked in JSON Lines on its stdin and answers on its stdout: none or more lines, then one with "done" or "error". Run without a
/// shell. One that dies, hangs or says something else fails for good, with its last words on stderr. One thread.
/// </summary>
internal sealed class AdapterProcess : IAdapter
{
    /// <summary>Longest wait for the program to take a request or to say something.</summary>
    public static readonly TimeSpan Limit = TimeSpan.FromSeconds(5);

    private static readonly TimeSpan LastWordsLimit = TimeSpan.FromSeconds(1);
    private const int LongestLine = 1024 * 1024;
    /// <summary>Longest answer to one request, in lines.</summary>
    public const int MostLines = 65_536;
    private const int LongestLastWords = 300;
    private readonly Process _process;
    private readonly string _program;
    private byte[] _buffer = new byte[4096];
    private int _start, _end;
    private volatile string _lastWords = "";
    private readonly ManualResetEventSlim _stderrEnded = new();
    private bool _failed;

    /// <exception cref="InvalidDataException">The program cannot be started.</exception>
    public AdapterProcess(string program, IReadOnlyList<string> arguments)
    {
        _program = program;
        var start = new ProcessStartInfo(program, arguments)
        {
            UseShellExecute = false,
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            StandardErrorEncoding = Encoding.UTF8,
        };
        try { _process = Process.Start(start)!; }
        catch (Win32Exception exception)
        {
            throw new InvalidDataException($"framing adapter: {program} cannot be started: {exception.Message}; expected a program that is there and may be run", exception);
        }
        _process.ErrorDataReceived += (_, said) =>
        {
            if (said.Data is null) { _stderrEnded.Set(); }
            else if (!string.IsNullOrWhiteSpace(said.Data)) { _lastWords = said.Data[..Math.Min(said.Data.Length, LongestLastWords)]; }
        };
        _process.BeginErrorReadLine();
    }

    /// <exception cref="InvalidDataException">The program died, hung, refused, or said what is no answer.</exception>
    public JsonElement Ask(ReadOnlySpan<byte> request, Action<JsonElement>? onLine)
    {
        if (_failed) { throw new InvalidDataException($"framing adapter: {_program} failed earlier"); }
        try
        {
            byte[] line = [.. request, (byte)'\n'];
            if (!Within(WriteAsync(line))) { throw Failure("does not take what it is asked"); }
            for (int i = 0; i < MostLines; i++)
            {
                JsonElement answer = Parse(ReadLine());
                if (answer.TryGetProperty("error", out JsonElement error)) { throw Failure($"says: {error}"); }
                if (answer.TryGetProperty("done", out _)) { return answer; }
                if (onLine is null) { throw Failure($"says {answer.GetRawText()}; expected a line with \"done\""); }
                onLine(answer);
            }
            throw Failure($"says more than {MostLines} lines to one request");
        }
        catch (Exception exception) when (exception is InvalidDataException or IOException or InvalidOperationException or FormatException or KeyNotFoundException)
        {
            _failed = true;
            throw exception is InvalidDataException ? exception : Failure(exception is IOException ? "is gone" : $"says what is no answer: {exception.Message}", exception);
        }
    }

    public void Dispose()
    {
        using (_process)
        {
            try { _process.StandardInput.Close(); }
            catch (IOException)
            {
                // It is gone already; there is nothing to tell it.
            }
            if (!_process.WaitForExit(_failed ? TimeSpan.Zero : TimeSpan.FromSeconds(1))) { _process.Kill(entireProcessTree: true); }
        }
    }

    private static bool Within(Task task)
    {
        try { return task.Wait(Limit); }
        catch (AggregateException exception) when (exception.InnerException is IOException inner) { throw new IOException(inner.Message, inner); }
    }

    private async Task WriteAsync(byte[] line)
    {
        await _process.StandardInput.BaseStream.WriteAsync(line).ConfigureAwait(false);
        await _process.StandardInput.BaseStream.FlushAsync().ConfigureAwait(false);
    }

    private ReadOnlyMemory<byte> ReadLine()
    {
        int searched = _start;
        while (true)
        {
            int end = _buffer.AsSpan(searched, _end - searched).IndexOf((byte)'\n');
            if (end >= 0)
            {
                ReadOnlyMemory<byte> line = _buffer.AsMemory(_start, searched + end - _start);
                _start = searched + end + 1;
                return line;
            }
            MakeRoom();
            searched = _end;
            Task<int> read = _process.StandardOutput.BaseStream.ReadAsync(_buffer.AsMemory(_end)).AsTask();
            if (!Within(read)) { throw Failure(FormattableString.Invariant($"gives no answer within {Limit.TotalSeconds} s")); }
            if (read.Result == 0)
            {
                // What it said last may still be on its way; a child of its that keeps stderr open must not hold us.
                _stderrEnded.Wait(LastWordsLimit);
                throw Failure("ended without an answer");
            }
            _end += read.Result;
        }
    }

    private void MakeRoom()
    {
        int pending = _end - _start;
        if (pending > LongestLine) { throw Failure($"says a line of more than {LongestLine} bytes"); }
        byte[] target = pending > _buffer.Length / 2 ? new byte[2 * _buffer.Length] : _buffer;
        _buffer.AsSpan(_start, pending).CopyTo(target);
        (_buffer, _start, _end) = (target, 0, pending);
    }

    private JsonElement Parse(ReadOnlyMemory<byte> line)
    {
        try
        {
            using JsonDocument document = JsonDocument.Parse(line);
            if (document.RootElement.ValueKind == JsonValueKind.Object) { return document.RootElement.Clone(); }
        }
        catch (JsonException)
        {
            // Said below, with the line itself.
        }
        string shown = Encoding.UTF8.GetString(line.Span[..Math.Min(line.Length, LongestLastWords)]);
        throw Failure($"says \"{shown}\"; expected one JSON object a line (print nothing else on stdout)");
    }

    private InvalidDataException Failure(string what, Exception? inner = null)
    {
        string stderr = _lastWords.Length == 0 ? "" : $"; its last words on stderr: {_lastWords}";
        return new($"framing adapter: {_program} {what}{stderr}", inner);
    }
}
