using HilRunner.Core.Files;
using Serilog.Core;
using Serilog.Events;
using Serilog.Formatting.Compact;

namespace HilRunner.Application.Playing;

/// <summary>Appends to a log in an output folder, line by line, each in the compact form of log.clef.</summary>
internal sealed class LogSink(string path) : ILogEventSink, IDisposable
{
    private readonly CompactJsonFormatter _formatter = new();
    private readonly StreamWriter _writer = new(PlainFile.OpenAppend(path)) { AutoFlush = true, NewLine = "\n" };
    private readonly Lock _lock = new();

    public void Emit(LogEvent logEvent)
    {
        lock (_lock) { _formatter.Format(logEvent, _writer); }
    }

    public void Dispose() => _writer.Dispose();
}
