using System.Collections;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace HilRunner.Core.Files;

/// <summary>
/// A long series of numbers: an array where it is short, else a file on disk that is read page by page, so that what goes over it
/// from one end to the other needs little memory whatever its length. For one thread at a time.
/// </summary>
public sealed class Series<T> : IReadOnlyList<T> where T : unmanaged
{
    /// <summary>Below what the collector takes for a large object, so that pages come and go cheaply.</summary>
    private const int PageBytes = 1 << 16;

    private static readonly int s_pageLength = Math.Max(1, PageBytes / Unsafe.SizeOf<T>());

    private readonly TemporaryFile? _file;
    /// <summary>
    /// What the indexer looks at: all of a short series, else the page last asked for; the other is the one before.
    /// </summary>
    private T[] _page, _other;
    private int _from, _otherFrom;
    private T[] _read = [];

    /// <param name="values">Not copied.</param>
    public Series(T[] values) => (_page, _other, Length) = (values, [], values.Length);

    internal Series(TemporaryFile file, int length) => (_file, _page, _other, Length) = (file, [], [], length);

    public int Length { get; }
    int IReadOnlyCollection<T>.Count => Length;

    /// <summary>False: an array.</summary>
    internal bool IsOnDisk => _file is not null;

    public T this[int index]
    {
        [MethodImpl(MethodImplOptions.AggressiveInlining)]
        get
        {
            T[] page = _page;
            uint at = (uint)(index - _from);
            return at < (uint)page.Length ? page[at] : Load(index);
        }
    }

    public static implicit operator Series<T>(T[] values) => new(values);

    /// <summary>Values of a stretch; valid until the next call for this series.</summary>
    public ReadOnlySpan<T> Read(int from, int length)
    {
        if (_file is null) { return _page.AsSpan(from, length); }
        if (_read.Length < length) { _read = new T[length]; }
        Fill(from, _read.AsSpan(0, length));
        return _read.AsSpan(0, length);
    }

    /// <summary>A copy of a stretch: <c>series[from..to]</c>.</summary>
    public T[] Slice(int start, int length) => Read(start, length).ToArray();

    public Enumerator GetEnumerator() => new(this);
    IEnumerator<T> IEnumerable<T>.GetEnumerator() => GetEnumerator();
    IEnumerator IEnumerable.GetEnumerator() => GetEnumerator();

    private T Load(int index)
    {
        if ((uint)index >= (uint)Length) { throw new ArgumentOutOfRangeException(nameof(index)); }
        (_page, _other, _from, _otherFrom) = (_other, _page, _otherFrom, _from);
        if ((uint)(index - _from) < (uint)_page.Length) { return _page[index - _from]; }
        int from = index / s_pageLength * s_pageLength, length = Math.Min(s_pageLength, Length - from);
        if (_page.Length != length) { _page = new T[length]; }
        _from = from;
        Fill(from, _page);
        return _page[index - from];
    }

    private void Fill(int from, Span<T> values)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan((long)from + values.Length, Length);
        _file!.Read(MemoryMarshal.AsBytes(values), (long)from * Unsafe.SizeOf<T>());
    }

    public struct Enumerator(Series<T> series) : IEnumerator<T>
    {
        private int _at = -1;

        public readonly T Current => series[_at];
        readonly object IEnumerator.Current => Current;
        public bool MoveNext() => ++_at < series.Length;
        public void Reset() => _at = -1;
        public readonly void Dispose() { }
    }
}

/// <summary>A <see cref="Series{T}"/> in the making: beyond some megabytes it goes to disk.</summary>
internal sealed class SeriesBuilder<T> where T : unmanaged
{
    /// <summary>
    /// Bytes of a series that are held in memory: a quarter of a million numbers, three quarters of an hour at 100 Hz.
    /// </summary>
    public const int UsualBytes = 2 << 20;

    /// <summary>For <see cref="ToArray"/>: nothing goes to disk.</summary>
    public static SeriesBuilder<T> AllInMemory() => new(int.MaxValue, 1);

    private const int PieceBytes = 1 << 16;

    private readonly int _mostInMemory;
    private readonly int _pieceLength = Math.Max(1, PieceBytes / Unsafe.SizeOf<T>());
    private readonly List<T[]> _full = [];
    private T[] _piece = new T[16];
    private int _filled;
    private TemporaryFile? _file;

    public SeriesBuilder(int bytesInMemory = UsualBytes)
        : this(bytesInMemory, Unsafe.SizeOf<T>()) { }

    private SeriesBuilder(int bytesInMemory, int bytesEach) => _mostInMemory = bytesInMemory / bytesEach;

    public int Length { get; private set; }

    /// <exception cref="TemporaryFileException">The series does not fit on the disk.</exception>
    public void Add(T value)
    {
        if (_filled == _piece.Length) { NextPiece(); }
        _piece[_filled++] = value;
        Length = checked(Length + 1);
    }

    public void AddAll(ReadOnlySpan<T> values)
    {
        while (values.Length > 0)
        {
            if (_filled == _piece.Length) { NextPiece(); }
            int some = Math.Min(values.Length, _piece.Length - _filled);
            values[..some].CopyTo(_piece.AsSpan(_filled));
            _filled += some;
            Length = checked(Length + some);
            values = values[some..];
        }
    }

    /// <summary>Nothing is added afterwards.</summary>
    public Series<T> Build()
    {
        if (_file is null && Length > _mostInMemory) { ToDisk(); }
        if (_file is not null)
        {
            Write(_piece.AsSpan(0, _filled));
            return new(_file, Length);
        }
        return new(ToArray());
    }

    /// <summary>
    /// Of a series that is wanted in memory, made with <see cref="AllInMemory"/>: copied once, not at every doubling.
    /// </summary>
    public T[] ToArray()
    {
        var all = new T[Length];
        int at = 0;
        foreach (T[] piece in _full)
        {
            piece.CopyTo(all, at);
            at += piece.Length;
        }
        _piece.AsSpan(0, _filled).CopyTo(all.AsSpan(at));
        return all;
    }

    private void NextPiece()
    {
        if (_file is null && Length >= _mostInMemory) { ToDisk(); }
        if (_file is not null)
        {
            Write(_piece.AsSpan(0, _filled));
            _filled = 0;
            if (_piece.Length < _pieceLength) { _piece = new T[_pieceLength]; }
        }
        else if (_piece.Length < _pieceLength) { Array.Resize(ref _piece, Math.Min(_pieceLength, 4 * _piece.Length)); }
        else
        {
            _full.Add(_piece);
            _piece = new T[_pieceLength];
            _filled = 0;
        }
    }

    private void ToDisk()
    {
        _file = new();
        foreach (T[] piece in _full) { Write(piece); }
        _full.Clear();
    }

    private void Write(ReadOnlySpan<T> values) => _file!.Append(MemoryMarshal.AsBytes(values));
}
