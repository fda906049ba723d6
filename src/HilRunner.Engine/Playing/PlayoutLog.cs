using System.Buffers.Text;
using System.Text;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;

namespace HilRunner.Engine.Playing;

/// <summary>Appends playout.csv row by row, without allocating; a killed process leaves whole rows up to the last flush, and perhaps part of one.</summary>
public sealed class PlayoutLog : IDisposable
{
    private const int Capacity = 1 << 16;
    private const int LongestRow = 96;
    private readonly FileStream _file;
    private readonly byte[] _buffer = new byte[Capacity];
    private int _used;

    public PlayoutLog(string path)
    {
        _file = new FileStream(PlainFile.CreateHandle(path), FileAccess.Write, bufferSize: 0);
        _used = Encoding.ASCII.GetBytes("n,due_s,actual_s\n", _buffer);
    }

    /// <exception cref="IOException">The file could not be written.</exception>
    public void Append(PlayoutRow row)
    {
        if (_used > Capacity - LongestRow) { Flush(); }
        Utf8Formatter.TryFormat(row.N, _buffer.AsSpan(_used), out int written);
        _used += written;
        _buffer[_used++] = (byte)',';
        if (row.DueNs is { } due) { Seconds(due); }
        _buffer[_used++] = (byte)',';
        Seconds(row.ActualNs);
        _buffer[_used++] = (byte)'\n';
    }

    public void Flush()
    {
        if (_used == 0) { return; }
        _file.Write(_buffer, 0, _used);
        _used = 0;
    }

    public void Dispose()
    {
        Flush();
        _file.Dispose();
    }

    /// <summary>Decimal seconds with nine places: exact.</summary>
    private void Seconds(long ns)
    {
        if (ns < 0)
        {
            _buffer[_used++] = (byte)'-';
            ns = -ns;
        }
        Utf8Formatter.TryFormat(ns / 1_000_000_000, _buffer.AsSpan(_used), out int written);
        _used += written;
        _buffer[_used++] = (byte)'.';
        long rest = ns % 1_000_000_000;
        for (int i = 8; i >= 0; i--)
        {
            _buffer[_used + i] = (byte)('0' + rest % 10);
            rest /= 10;
        }
        _used += 9;
    }
}
