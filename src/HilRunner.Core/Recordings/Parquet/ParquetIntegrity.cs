using System.Buffers.Binary;
using Parquet.Meta;

namespace HilRunner.Core.Recordings.Parquet;

/// <summary>
/// Checks the structure of a file before the library reads it: on a damaged footer or page header it may go on without end, since it takes
/// what lies beyond the end for data. Values inside pages are not looked at.
/// </summary>
internal sealed class ParquetIntegrity : IDisposable
{
    private const int LargestFooter = 32 << 20;
    private const int LargestPage = 64 << 20;
    private const int HeaderWindow = 1 << 16;

    private readonly FileStream _file;
    private readonly byte[] _window = new byte[HeaderWindow];

    /// <exception cref="InvalidDataException">No Parquet file, or a damaged footer.</exception>
    public ParquetIntegrity(string path)
    {
        _file = File.OpenRead(path);
        try { CheckFooter(); }
        catch
        {
            _file.Dispose();
            throw;
        }
    }

    public void Dispose() => _file.Dispose();

    /// <summary>The pages of every column of a row group follow one another and hold as many values as the group has rows.</summary>
    /// <exception cref="InvalidDataException">They do not.</exception>
    public void CheckGroup(RowGroup group)
    {
        foreach (var chunk in group.Columns)
        {
            var column = chunk.MetaData ?? throw new InvalidDataException("a column without metadata");
            if (column.NumValues != group.NumRows) { throw new InvalidDataException($"a column of {column.NumValues} values in a group of {group.NumRows} rows"); }
            long at = column.DictionaryPageOffset is { } dictionary and > 0 ? Math.Min(dictionary, column.DataPageOffset) : column.DataPageOffset;
            long end = at + column.TotalCompressedSize, values = 0;
            if (at < 4 || column.TotalCompressedSize < 0 || end > _file.Length) { throw new InvalidDataException("a column beyond the end of the file"); }
            while (at < end) { at += Page(at, end, ref values); }
            if (at != end || values != column.NumValues) { throw new InvalidDataException($"pages of {values} values for a column of {column.NumValues}"); }
        }
    }

    private void CheckFooter()
    {
        Span<byte> tail = stackalloc byte[8];
        if (_file.Length < 12) { throw new InvalidDataException("too short"); }
        _file.Seek(-8, SeekOrigin.End);
        _file.ReadExactly(tail);
        uint length = BinaryPrimitives.ReadUInt32LittleEndian(tail);
        if (!tail[4..].SequenceEqual("PAR1"u8) || length > _file.Length - 12 || length > LargestFooter) { throw new InvalidDataException("no footer at the end"); }
        byte[] footer = new byte[length];
        _file.Seek(-8 - (long)length, SeekOrigin.End);
        _file.ReadExactly(footer);
        new ThriftWalk(footer).Over(ParquetStructs.File);
    }

    /// <summary>Length of the page with its header.</summary>
    private long Page(long at, long end, ref long values)
    {
        _file.Seek(at, SeekOrigin.Begin);
        int length = _file.ReadAtLeast(_window.AsSpan(0, (int)Math.Min(HeaderWindow, end - at)), (int)Math.Min(HeaderWindow, end - at), throwOnEndOfStream: false);
        long compressed = -1, uncompressed = -1, held = 0;
        var walk = new ThriftWalk(_window.AsSpan(0, length));
        walk.Over(ParquetStructs.Page, (name, field, value) =>
        {
            switch (name, field)
            {
                case (ParquetStructs.PageName, 2): uncompressed = value; break;
                case (ParquetStructs.PageName, 3): compressed = value; break;
                case (ParquetStructs.DataPageName or ParquetStructs.DataPageV2Name, 1): held = value; break;
            }
        });
        if (compressed < 0 || uncompressed is < 0 or > LargestPage || held < 0 || walk.Read + compressed > end - at) { throw new InvalidDataException("a page that does not fit its column"); }
        values += held;
        return walk.Read + compressed;
    }
}
