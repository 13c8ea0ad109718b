from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from toolkit.execution.blocks import FEWEST_BLOCKS, Blocks, choose_chunks

shapes = st.lists(st.integers(1, 9), min_size=0, max_size=5).map(tuple)


@given(shapes, st.integers(1, 400), st.data())
def test_blocks_cover_every_case_once(shape: tuple[int, ...], most: int, data: st.DataObject) -> None:
    first = data.draw(st.lists(st.sampled_from(range(len(shape))), unique=True)) if shape else []
    blocks = Blocks(shape=shape, chunks=choose_chunks(shape, most, first))
    seen = np.concatenate([blocks.flat_indices(block) for block in range(blocks.count)])
    assert sorted(seen.tolist()) == list(range(math.prod(shape)))
    assert max(math.prod(blocks.block_shape(block)) for block in range(blocks.count)) <= most


@given(shapes, st.integers(1, 50))
def test_a_case_is_found_in_its_block(shape: tuple[int, ...], most: int) -> None:
    blocks = Blocks(shape=shape, chunks=choose_chunks(shape, most))
    block, within = blocks.locate(np.arange(math.prod(shape), dtype=np.int64))
    for number in range(blocks.count):
        flat = blocks.flat_indices(number)
        assert (block[flat] == number).all()
        assert within[flat].tolist() == list(range(len(flat)))


@given(shapes, st.integers(1, 50))
def test_flat_indices_are_the_region_in_c_order(shape: tuple[int, ...], most: int) -> None:
    blocks = Blocks(shape=shape, chunks=choose_chunks(shape, most))
    numbers = np.arange(math.prod(shape)).reshape(shape)
    for block in range(blocks.count):
        assert np.array_equal(blocks.flat_indices(block), numbers[blocks.slices(block)].reshape(-1))


def test_the_last_dimension_is_filled_first() -> None:
    assert choose_chunks((100, 64, 32), 2048) == (1, 64, 32)
    assert choose_chunks((100, 64, 48), 2048) == (1, 32, 48)  # 42 would leave an odd rest; two halves do not


def test_dimensions_of_like_cases_are_kept_whole() -> None:
    assert choose_chunks((50, 100, 100), 2048, first=(0,)) == (50, 1, 34)


def test_a_small_study_still_has_work_for_every_worker() -> None:
    blocks = Blocks(shape=(20_000,), chunks=choose_chunks((20_000,), 2048))
    assert blocks.count == FEWEST_BLOCKS
    tiny = Blocks(shape=(200,), chunks=choose_chunks((200,), 2048))
    assert tiny.count == 1
